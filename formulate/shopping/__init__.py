"""What to buy on each trip: lots, batches and the buying program."""
