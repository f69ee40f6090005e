"""Mixes that hold although cartons differ, and how sure a mix is."""
