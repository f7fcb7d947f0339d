"""Answers for the bench and the one who wires: lists, sheets and labels."""
