"""How prices and limits change the cheapest mix."""
