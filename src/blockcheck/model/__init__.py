"""Document to Layout: frozen classes, one a table, numbers in SI units with the unit in the name."""
