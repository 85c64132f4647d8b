"""What must be verified again: the tasks, what performs them, and how their intervals move."""
