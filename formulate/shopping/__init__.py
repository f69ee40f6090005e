"""What to buy, trip by trip: lots, batches and the buying program."""
