"""What rules and derived values read out of a case: its liquid, suction, pump, loop, readings."""
