"""What a cue puts on stage."""
