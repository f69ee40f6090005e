"""What every room stands on: errors, units, files and their locks."""
