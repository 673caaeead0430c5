"""Files that change all together or not at all, and the history of what was changed. It knows nothing of
values."""
