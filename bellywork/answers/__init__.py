"""From results to answers: headline, tables, findings and assumptions, told as text, JSON and CSV."""
