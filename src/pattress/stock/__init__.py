"""What there is to choose from: parts, boards, and the tables of the standards, each figure with its source."""
