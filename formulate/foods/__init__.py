"""Foods, measures, bands, the spread of cartons, and the tables they come from."""
