"""Measurements, faults, what they would read, and which steps to choose."""
