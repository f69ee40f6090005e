"""Mixes that hold although cartons vary, and how sure a mix is."""
