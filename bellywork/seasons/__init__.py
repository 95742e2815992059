"""What moisture and time do to a board."""
