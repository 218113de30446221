"""What a reviewer is told of a comparison."""
