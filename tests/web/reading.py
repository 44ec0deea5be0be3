"""What a person sees, hears and cannot reach on a sheet: checks that every sheet shares."""

from axe_playwright_python.sync_playwright import Axe

WIDE, TELEPHONE = 1200, 360


def complaints(tab) -> list[str]:
    """Return what axe-core finds wrong with the sheet that stands in a tab."""
    found = Axe().run(tab.page, options={"resultTypes": ["violations"]}).response["violations"]
    return [f"{one['id']}: {node['html'][:160]}" for one in found for node in one["nodes"]]


def fits(tab) -> bool:
    """Return whether nothing is wider than the screen."""
    return tab.page.evaluate("document.documentElement.scrollWidth <= innerWidth")
