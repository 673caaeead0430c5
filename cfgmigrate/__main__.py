"""`python -m cfgmigrate` is the same as `cfgmigrate`."""

from cfgmigrate.cli import main

if __name__ == "__main__":
    main()
