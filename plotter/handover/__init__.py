"""The page for the next shift and for the record: what was said, what is known, what is open."""

from plotter.handover.collect import handover_of
from plotter.handover.page import page_of
from plotter.handover.values import Handover, Table

__all__ = ["Handover", "Table", "handover_of", "page_of"]
