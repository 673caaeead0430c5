"""Install, and the way back: where an installed value is now, what a later edit did to it, what of a swap
is left to do."""
