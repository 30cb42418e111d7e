"""An offline position and bearing plotter for whoever coordinates a rescue by radio.

Importing this package opens no file and loads none of its rooms; import the one you need:
`plotter.geodesy`, `plotter.formats`, `plotter.fix`, `plotter.log`, `plotter.exchange`,
`plotter.tiles`, `plotter.board`. DEVELOPERS.md draws the table of rooms.
"""

__all__ = ["__version__"]

__version__ = "0.1.0"
