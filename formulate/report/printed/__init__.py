"""Sheets of paper for the barn: a card for the refrigerator door, labels for the jars."""
