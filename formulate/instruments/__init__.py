"""Instruments: what a mix should read if it follows its recipe, and whether it does.

``readings``  what a person typed: an instrument and what it shows
``rules``     published formulas with the milks they are for; density by temperature
``expect``    what a mix should read, and how far that may be off
``hold``      compares a recipe with its readings
"""

from formulate.instruments.hold import HeldRecipe, hold
from formulate.instruments.readings import Instrument, Reading, parse_readings

__all__ = ["HeldRecipe", "Instrument", "Reading", "hold", "parse_readings"]
