"""Whole numbers: the steps of kitchen measures, and integer programs."""
