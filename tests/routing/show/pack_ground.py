"""A review pack, made once, and a reader of pages that knows nothing of how they are made."""

from dataclasses import dataclass, field
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

from routing.outings.plan import work_out
from routing.outings.plan_file.reader import read_outing
from routing.outings.translations import Ground
from routing.paths.answers.results import InputDigest
from routing.show.pack.material import PackMaterial
from routing.show.pack.page import review_pack
from routing.studies.outing_closures import outing_closures
from routing.studies.outing_sites import outing_sites

__all__ = ["EXAMPLES", "Element", "Page", "material_of", "pack_of", "parsed"]

EXAMPLES = Path(__file__).parents[3] / "examples"


def material_of(plan: Path, *, checked: bool = True, closed: tuple[str, ...] = ()) -> PackMaterial:
    document = read_outing(plan)
    inputs = tuple(InputDigest(name=one.name, sha256=one.sha256) for one in document.inputs)
    ground = Ground(document.structure, document.outing, document.limits, closed)
    planned = work_out(document.outing, ground, inputs=inputs)
    return PackMaterial(
        planned=planned,
        limits=document.limits,
        sites=outing_sites(planned) if checked else None,
        closures=outing_closures(planned) if checked else None,
    )


@cache
def small_material() -> PackMaterial:
    return material_of(EXAMPLES / "small" / "outing.toml")


@cache
def pack_of(name: str = "small") -> str:
    if name == "small":
        return review_pack(small_material())
    return review_pack(material_of(EXAMPLES / name / "outing.toml"))


@dataclass(eq=False)
class Element:
    tag: str
    attributes: dict[str, str | None]
    parent: "Element | None"
    children: "list[Element | str]" = field(default_factory=list)

    @property
    def text(self) -> str:
        return "".join(one if isinstance(one, str) else one.text for one in self.children)

    @property
    def classes(self) -> list[str]:
        return (self.attributes.get("class") or "").split()

    def all(self, tag: str = "") -> "list[Element]":
        found = []
        for one in self.children:
            if isinstance(one, Element):
                found += [one] * (not tag or one.tag == tag)
                found += one.all(tag)
        return found

    def by_id(self, name: str) -> "Element":
        (found,) = [one for one in self.all() if one.attributes.get("id") == name]
        return found

    def is_in(self, tag: str) -> bool:
        return self.parent is not None and (self.parent.tag == tag or self.parent.is_in(tag))


class Page(HTMLParser):
    """Builds the tree of a page and notes whatever is not closed as it should be."""

    VOID = frozenset({"meta", "input", "br"})

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.root = Element("", {}, None)
        self.here = self.root
        self.faults: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if len(dict(attrs)) < len(attrs):
            self.faults.append(f"{tag} has an attribute twice")
        element = Element(tag, dict(attrs), self.here)
        self.here.children.append(element)
        if tag not in self.VOID:
            self.here = element

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in self.VOID:
            self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        if self.here.tag != tag or self.here.parent is None:
            self.faults.append(f"</{tag}> closes <{self.here.tag}>")
            return
        self.here = self.here.parent

    def handle_data(self, data: str) -> None:
        self.here.children.append(data)


def parsed(text: str) -> Element:
    page = Page()
    page.feed(text)
    page.close()
    assert page.faults == []
    assert page.here is page.root
    return page.root
