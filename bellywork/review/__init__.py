"""What is wrong or unlikely about a board, as findings."""
