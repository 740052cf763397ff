"""README's three pictures, each a panel as a lesson shows it: python tests/lessons/readme_pictures.py

Run it after changing how one of these panels looks.
"""

from pathlib import Path

from signalshed.classroom import lesson_00, lesson_04, lesson_05
from signalshed.site import open_site

REPO = Path(__file__).resolve().parents[2]
FOLDER = REPO / "notebooks" / "pictures"
PICTURES = {
    "bearing_strip": lambda house: (lesson_00.pointing_panel(house), {"heading_deg": 52}),
    "dipole_and_sheet": lambda house: (lesson_04.sheet_panel(), {}),
    "terrain_profile": lambda house: (lesson_05.profile_panel(house), {}),
}


def drawn(name):
    """One picture as PNG bytes."""
    panel, values = PICTURES[name](open_site(REPO / "demo_data" / "hill_house"))
    panel.set(**values)
    if panel.asks:
        panel.show_me()
    return panel.png


if __name__ == "__main__":
    for name in PICTURES:
        (FOLDER / f"{name}.png").write_bytes(drawn(name))
