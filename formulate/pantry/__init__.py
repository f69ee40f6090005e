"""The pantry file, recipes and labels: files and typed text in, checked objects out."""
