"""From results to a plan: which span gets which text, what is left for hands, what is still unknown. Pure;
no file is touched."""
