"""Spoken words to characters, and characters to the words of a read-back."""

from plotter.voice.spoken import spoken_reading

__all__ = ["spoken_reading"]
