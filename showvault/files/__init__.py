"""How bytes get on the disk so that they stay there."""
