"""Cut plans proven cheapest: the model, the search and its proof. ``tracker.planning.cutplan`` is the way in."""
