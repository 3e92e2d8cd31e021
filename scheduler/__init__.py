"""Decides when the heavy work in multi-strata food forests is done.

The tour, in the order in which the rooms may import one another (the import
contract in pyproject.toml holds the same order by machine):

* ``terms``    words all rooms share: numbered civil days, rulings, notices
* ``files``    a file as text, rows and checked values; how it is written
* ``weather``  the record of a place, its formats, gaps and quality; forecasts
* ``holding``  what the grower's files say, read and checked; the rules as data
* ``sky``      Sun and Moon by civil day; the only room that sees UTC instants
* ``stand``    what grows in a plot becomes the steps of visits: hours and material
* ``frost``    the station record as last and first frosts, and each plot's chances by day
* ``windows``  each rule says of each day whether a task may stand there, and why
* ``roster``   visits on the crew's days: an exact solver, checked without it
* ``season``   the walk through the rooms above; pure
* ``reasons``  why a day, what stays out and what would free it: computed when asked
* ``words``    all language: reasons, titles, tables for people, records for programs
* ``calendars`` the season as events and bytes, and the memory of their revisions
* ``pages``    the season as pages for people, drawn from templates
* ``ways_out`` how calendars and pages reach their readers: folder, private links, server, push
* ``commands`` options in, lines and exit codes out
"""
