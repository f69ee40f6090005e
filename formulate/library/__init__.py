"""The door for people who write Python: what `formulate` itself offers."""
