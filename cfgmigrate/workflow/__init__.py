"""One typed function for each command: the rooms below put together, with paths in and values out. Nothing
is printed."""
