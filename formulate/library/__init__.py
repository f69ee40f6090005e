"""The Python interface that `formulate` offers."""
