"""Documents for paper: laid out, drawn and read back."""
