"""What prices and limits do to the cheapest mix."""
