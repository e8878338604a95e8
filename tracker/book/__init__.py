"""The job book: the only room that knows the store. One function per operation, one transaction each, frozen views out.

Import the module you need (``tracker.book.jobs`` and so on); this package imports nothing, so that a command that needs
no book stays fast.
"""
