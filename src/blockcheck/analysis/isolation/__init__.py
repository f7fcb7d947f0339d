"""What a switch kills, and stray ways round it."""
