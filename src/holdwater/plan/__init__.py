"""The printable plan: everything a holding needs to show, on one page that works from a memory stick."""
