"""The screens in a browser: a small web server behind a guard, and one process of the screens for each open page."""
