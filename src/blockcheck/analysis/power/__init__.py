"""Operating points, worst places, budgets, sleeping and waking."""
