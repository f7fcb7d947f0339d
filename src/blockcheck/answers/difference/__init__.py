"""Two layouts compared: the answer, what differs in findings and budgets, and what to test again."""
