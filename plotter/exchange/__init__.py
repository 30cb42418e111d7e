"""Files in and out: the report file that a person writes."""

from plotter.exchange.reports_csv import read_reports

__all__ = ["read_reports"]
