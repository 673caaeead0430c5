"""From a machine and a sheet to results: formulas, units checked, each with its derivation. Rules are data
in `knowledge/`; this room reads, checks and works them out. Nothing is planned or written."""
