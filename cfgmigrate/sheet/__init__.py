"""What people write of a swap: the swap sheet and the measured sheet, their fields (`schema.yaml`,
`measured.yaml`), and the starter to fill in."""
