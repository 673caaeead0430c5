"""What a practitioner knows, as data files: the rule book, the rules of tuning, drivers, plastics,
constants, symptoms, lights. The code here only loads tables; `rules/` reads and runs the book."""
