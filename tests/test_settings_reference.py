from pathlib import Path

from deploy.settings_reference import settings_reference


def test_settings_reference_is_as_generated(repo: Path) -> None:
    written = (repo / "docs" / "settings.md").read_text()
    assert written == settings_reference(), "run: python -m deploy.settings_reference"
