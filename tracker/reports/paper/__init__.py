"""Documents for paper: a model in blocks, given out as HTML and as PDF."""
