"""A plan as a folder that needs nothing else: written, read again, verified, reviewed, with patches for
both directions."""
