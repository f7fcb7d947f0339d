"""Who draws what against which limit; which tracks to put to sleep, and how to wake them."""
