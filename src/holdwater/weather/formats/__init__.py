"""Files people bring: one reader for each format, and the tools they share."""
