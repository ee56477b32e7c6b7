"""Pictures in, sizes out: millimetres with an uncertainty, from a photo that shows a scale card."""
