"""Optimisers over trade values: cut plan, working days. Pure; the trade may not import it."""
