"""Results in words, tables, JSON and pictures."""
