"""What the settings mean: documents become one machine, with every reading's quantity, unit and holder.
`quantities.yaml`, `words.yaml`, `holders.yaml` and `codes.yaml` hold the trade's words."""
