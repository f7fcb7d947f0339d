"""Two layouts held against each other: what is said differently, and which wires that touches."""
