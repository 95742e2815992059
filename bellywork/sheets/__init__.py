"""Paper, CAD and tables for the bench."""
