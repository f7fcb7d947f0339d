"""What several rules and answers need to know of a circuit: isolation, supply, budgets."""
