"""The plausibility gate: what stops a run, what only warns."""
