"""The desk: the whole job led through in a browser, on the same functions as the commands.

A local server shows five rooms: which machine, what is understood, the swap, the packet, and after. Whatever it
keeps it keeps where the commands keep it (the site file, the sheet, packets, the history), so a reload, a restart or
a change to the terminal loses nothing. It has no logic of its own: it asks `workflow/` and shows what it gets.

Only the command `desk` imports this package.
"""
