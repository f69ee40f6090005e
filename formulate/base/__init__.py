"""The foundation of every room: errors, units, files and their locks."""
