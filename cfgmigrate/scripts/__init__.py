"""Word-address scripts inside a configuration: which moves reach beyond a new limit, which lengths follow
the filament's path. Only numbers are ever changed."""
