"""Is it right? The answer of a check, what it rests on, what is new in it, and how programs read it."""
