"""Mixes that stay in range although cartons vary, and how sure a mix is."""
