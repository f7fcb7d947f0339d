"""What a beginner asks: each table in the words of the trade with lines to copy, and the words themselves."""
