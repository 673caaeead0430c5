"""The words for a machine's sides, as someone sees them who stands before it: in one place, for all who tell by them where
something is, whose it is or along which axis it lies.

What follows from such a word is said where it is used. That feeders are counted from the left is in `machine/holders.yaml`, and
which limit a side has in `plan/lines_beside.py`.
"""

#: the sides of which there are two of a kind: feeders, nozzles, switches
LEFT_AND_RIGHT = frozenset(("left", "right"))
#: where something sits
SIDES_OF_A_MACHINE = LEFT_AND_RIGHT | {"front", "rear", "back", "top", "bottom"}
#: along which axis what such a word is about lies, as usual (common practice, no source)
ALONG_AXIS = {
    "x": ("right", "left", "across", "sideways"),
    "y": ("back", "front", "along", "depth"),
    "z": ("up", "down", "height", "higher", "lower"),
}
