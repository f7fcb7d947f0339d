"""Bytes to a located document: TOML, its includes, its ranges, and the place of every key and value."""
