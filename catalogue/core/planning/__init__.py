"""Which reading to take next: guesses how the rest is wired, acts to choose from, and what each would prove."""
