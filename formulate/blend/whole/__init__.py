"""Whole numbers: steps of a kitchen and integer programs."""
