"""What was said, kept as heard: chains of events, where they are stored, and their picture."""

__all__: list[str] = []
