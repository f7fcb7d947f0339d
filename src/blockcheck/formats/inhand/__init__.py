"""The page in hand as one file: its script, in modules that are joined when it is written, its style, and its data."""
