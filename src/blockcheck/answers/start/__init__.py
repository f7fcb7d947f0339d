"""Layouts to start from: a short commented one, a whole yard from a few numbers, or from a spreadsheet of blocks."""
