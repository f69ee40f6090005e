"""One module for each question; each returns one whole answer."""
