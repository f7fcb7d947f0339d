"""The figures of a plan: parts placed side by side, in rows, and read back."""
