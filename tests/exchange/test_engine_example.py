"""The README's way past one machine: an engine's partitions, each through the array function."""

import re

import pandas as pd
import pytest

from plotter.voice.columns import converted


@pytest.fixture
def example(repository):
    """The Python lines of the README's section, as they stand there."""
    readme = (repository / "README.md").read_text(encoding="utf-8")
    block = re.search(r"<!-- example: engine -->\n(.*?)<!-- end -->", readme, re.DOTALL)[1]
    return "\n".join(line[4:] for line in block.splitlines())


# The engine's own call of pandas, when it writes.
@pytest.mark.filterwarnings("ignore:The inplace keyword")
def test_the_engine_maps_the_columns_over_its_partitions(example, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    texts = ["31UDQ4825111932", "48.8582, 2.2945", "up the hill", "18S 323483 4306479"] * 25
    (tmp_path / "reports").mkdir()
    for part in range(4):
        rows = range(part * 25, part * 25 + 25)
        frame = pd.DataFrame({"id": rows, "said": [texts[i] for i in rows]})
        frame.to_csv(tmp_path / "reports" / f"{part}.csv", index=False)
    names: dict[str, object] = {}
    exec(compile(example, "README.md", "exec"), names)  # noqa: S102 - the README's own lines
    assert names["reports"].npartitions == 4
    found = pd.read_parquet(tmp_path / "positions").sort_values("id", key=lambda c: c.astype(int))
    expected = converted(texts)
    assert found["said"].tolist() == texts
    for name, values in expected.items():
        if values.dtype == float:
            assert found[name].tolist() == pytest.approx(values.tolist(), nan_ok=True, rel=1e-12)
        else:
            assert found[name].tolist() == values.tolist()
