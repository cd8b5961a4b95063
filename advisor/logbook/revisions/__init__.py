"""The shape of the logbook as small steps (Alembic), the same for a file and for a server.

A new step is a new file in ``versions``; none that was ever released is changed. Then run
``python -m advisor.logbook.revisions.make_new_book``, which writes what a new file is made from.
"""
