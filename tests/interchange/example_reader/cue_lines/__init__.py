"""Cue sheets of one line a cue, as an example of a reader in a package of its own."""
