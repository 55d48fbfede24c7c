"""The colours of charts, by what they mean. Dash and shape say the same to who sees no colour."""

from dataclasses import dataclass, fields


@dataclass(frozen=True)
class Palette:
    """One colour for each meaning; values are anything SVG takes as a paint."""

    paper: str
    panel: str
    ink: str
    soft: str
    rule: str
    watched: str
    unwatched: str
    failure: str
    normal: str
    second: str
    third: str
    fourth: str


LIGHT = Palette(
    paper="#faf8f2",
    panel="#f0ece1",
    ink="#1d2426",
    soft="#4a5558",
    rule="#cbc4b3",
    watched="#1b6b78",
    unwatched="#cfe0dd",
    failure="#9c3410",
    normal="#63508f",
    second="#9a5b00",
    third="#63508f",
    fourth="#7a2e55",
)
DARK = Palette(
    paper="#15191a",
    panel="#1f2526",
    ink="#e9e5da",
    soft="#b4bab7",
    rule="#434c4e",
    watched="#62b5c1",
    unwatched="#2b4449",
    failure="#f2916a",
    normal="#b8a8e4",
    second="#dca24b",
    third="#b8a8e4",
    fourth="#e08fb8",
)
#: On a page the style sheet says what each colour is, light, dark or printed.
PAGE = Palette(**{each.name: f"var(--{each.name})" for each in fields(Palette)})
