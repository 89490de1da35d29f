"""Files: the same bytes twice, well-formed, escaped, and whole or not there."""

import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree as ET

import matplotlib as mpl
import pytest
from matplotlib.figure import Figure

from routing.caution import CAUTION
from routing.show.maps.maps import draw_map
from routing.show.sheets.inputs import DrawingError
from routing.show.sheets.saving import check_format, save_figure
from structures.elements import Handrail, Solid
from structures.model import Structure
from tests.routing.show.show_ground import small_depot, straight_route
from tests.routing.show.test_show_lettering import HOSTILE

SVG = "{http://www.w3.org/2000/svg}"


def texts_of(path: Path) -> list[str]:
    root = ET.parse(path).getroot()
    return ["".join(one.itertext()) for one in root.iter(f"{SVG}text")]


@pytest.mark.parametrize("suffix", [".svg", ".png", ".pdf"])
def test_the_same_drawing_gives_the_same_bytes(tmp_path: Path, suffix: str) -> None:
    depot = small_depot()
    route = straight_route(depot, "HZ", "EV1")
    files = [tmp_path / f"{name}{suffix}" for name in ("first", "second")]
    for file in files:
        save_figure(draw_map(depot, views=("plan", "aft"), routes=(route,)), file)
    assert files[0].read_bytes() == files[1].read_bytes()
    assert files[0].stat().st_size > 5_000


def test_another_process_gives_the_same_svg(tmp_path: Path) -> None:
    """Hash order and process state play no part."""
    program = (
        "import sys; from pathlib import Path\n"
        "from routing.show.maps.maps import draw_map\n"
        "from routing.show.sheets.saving import save_figure\n"
        "from tests.routing.show.show_ground import small_depot\n"
        "save_figure(draw_map(small_depot()), Path(sys.argv[1]))\n"
    )
    for seed in ("1", "2"):
        subprocess.run(
            [sys.executable, "-c", program, str(tmp_path / f"{seed}.svg")],
            check=True,
            env={"PYTHONHASHSEED": seed, "PYTHONPATH": str(Path(__file__).parents[3])},
        )
    assert (tmp_path / "1.svg").read_bytes() == (tmp_path / "2.svg").read_bytes()


def test_svg_keeps_text_as_text_and_has_no_date(tmp_path: Path) -> None:
    file = tmp_path / "map.svg"
    save_figure(draw_map(small_depot()), file)
    shown = texts_of(file)
    assert "HZ" in shown
    assert CAUTION in shown
    content = file.read_text(encoding="utf-8")
    assert "dc:date" not in content
    assert "Matplotlib v" not in content.split("<defs>")[0].split("-->")[-1]


def test_hostile_names_are_escaped_in_svg(tmp_path: Path) -> None:
    names = sorted(HOSTILE.values())
    solids = tuple(
        Solid.model_validate(
            {
                "id": f"M{i}",
                "name": name,
                "volume": {"shape": "box", "center": (6.0 * i, 0.0, 0.0), "size": (5.0, 4.0, 4.0)},
            }
        )
        for i, name in enumerate(names)
        if not any("\ud800" <= c <= "\udfff" for c in name)  # no document can hold one
    )
    rail = Handrail(id="<&>\"'$x$", points_m=((0, 0, -2.1), (1, 0, -2.1)), normal=(0, 0, -1))
    depot = Structure(
        name="</text><script>alert(1)</script>",
        revision="]]> --> & $\\int$",
        solids=solids,
        handrails=(rail,),
    )
    file = tmp_path / "map.svg"
    save_figure(draw_map(depot, views=("plan",)), file)
    shown = texts_of(file)  # parsing it shows that it is well-formed
    assert "</text><script>alert(1)</script>" in shown
    assert "<&>\"'$x$" in shown
    assert any("<b>&amp;\"'</b>" in text for text in shown)
    root = ET.parse(file).getroot()
    assert not list(root.iter(f"{SVG}script"))


def test_saving_leaves_settings_alone(tmp_path: Path) -> None:
    before = dict(mpl.rcParams)
    save_figure(draw_map(small_depot()), tmp_path / "map.svg")
    assert dict(mpl.rcParams) == before


def test_a_format_that_is_not_written_is_refused_before_anything_is(tmp_path: Path) -> None:
    with pytest.raises(DrawingError, match=r"end it in \.pdf, \.png, \.svg"):
        save_figure(Figure(), tmp_path / "map.gif")
    with pytest.raises(DrawingError):
        check_format(tmp_path / "map")
    assert check_format(tmp_path / "MAP.SVG") == "svg"
    assert list(tmp_path.iterdir()) == []


def test_a_file_is_whole_or_what_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "map.svg"
    file.write_text("before")

    def fail(*_: object, **__: object) -> None:
        raise OSError("disk full")

    monkeypatch.setattr(Figure, "savefig", fail)
    with pytest.raises(OSError, match="disk full"):
        save_figure(Figure(), file)
    assert file.read_text() == "before"
    assert list(tmp_path.iterdir()) == [file]
