"""What the program does: keep, restore, bring back, merge."""
