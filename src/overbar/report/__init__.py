"""Report: what leaves the desk on paper and in calendars.

Comes in: records of one athlete. Goes out: the block report (PDF, two pages,
prints in grey) and the sessions as iCalendar.
Must not know: pages, the command line, any other athlete.
"""
