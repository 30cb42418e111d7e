"""Files in and out: what people and other programs write, and what they can read."""

from plotter.exchange.reports_csv import read_reports

__all__ = ["read_reports"]
