"""Latitude and longitude as people write them, read so that every character is accounted for.

`tokens` gives every character its possible parts in an angle, `grammar` all the ways to make two
angles of all of them, `meaning` the places that these name and what each assumes; `stated` reads
the standard forms that say it all. What no part of the grammar takes is an error that quotes it.
"""
