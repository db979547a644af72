"""What a run tells, in words, tables and files."""
