"""One module a question; each gives one whole answer."""
