"""Sheets of paper for the barn: a card for the refrigerator door, and labels for the jars."""
