"""Networks of resistors, sources, drops and constant loads: solved, and seen from pairs of nodes. No layouts here."""
