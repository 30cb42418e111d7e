"""The long fuzz run of the reader under atheris; `tests/benchmarks/test_fuzz_reader.py` calls it.

python tests/fuzz_reader.py -runs=1000000 -seed=1
"""

import sys
from pathlib import Path

import atheris

sys.path.insert(0, str(Path(__file__).parent))
with atheris.instrument_imports(include=["plotter"]):
    from formats.test_fuzz import PIECES, SAID
    from reader_laws import AREA, obey


def one_text(data: bytes) -> None:
    """Turn bytes into a text: raw, or pieces of the reader's own words, and check the laws."""
    provider = atheris.FuzzedDataProvider(data)
    kind = provider.ConsumeIntInRange(0, 3)
    areas = (AREA,) if provider.ConsumeBool() else (None,)
    if kind == 0:
        obey(provider.ConsumeUnicodeNoSurrogates(60), areas=areas)
        return
    words = PIECES + SAID if kind == 3 else PIECES
    count = provider.ConsumeIntInRange(0, 10)
    parts = [words[provider.ConsumeIntInRange(0, len(words) - 1)] for _ in range(count)]
    obey((" " if kind > 1 else "").join(parts), spoken=kind == 3, areas=areas)


if __name__ == "__main__":
    atheris.Setup(sys.argv, one_text)
    atheris.Fuzz()
