"""Studies: many holdings, many weathers, one engine."""
