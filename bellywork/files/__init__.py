"""A board folder of tables, read and written."""
