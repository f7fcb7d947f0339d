"""The page in hand: what the other commands answer, as one browser needs it to answer again for any switches."""
