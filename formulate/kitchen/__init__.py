"""A batch in whole measures, and mixing it in a jug."""
