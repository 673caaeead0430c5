"""What every room stands on: findings and errors, reading and writing files, YAML with positions, units,
the text of a number, and what the program knows in compiled form. Nothing here knows of printers."""
