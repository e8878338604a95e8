"""The screens: what a person sees and presses.

They ask the book and show its views; they hold no table and no arithmetic.
Nothing is imported here, so that a command that needs no screen stays fast.
"""
