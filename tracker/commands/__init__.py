"""The commands, one module a group. Each is the same operation as a screen's; it reads, asks the book and
prints.
"""
