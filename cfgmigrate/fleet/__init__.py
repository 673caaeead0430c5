"""Many machines at once: the fleet file, one process a machine, and a summary of what is alike and what
stands out."""
