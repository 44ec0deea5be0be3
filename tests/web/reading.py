"""What a person sees, hears and cannot reach on a sheet: checks that every sheet shares."""

import re
from html import unescape

from axe_playwright_python.sync_playwright import Axe

WIDE, TELEPHONE = 1200, 360


def complaints(tab) -> list[str]:
    """Return what axe-core finds wrong with the sheet that stands in a tab."""
    found = Axe().run(tab.page, options={"resultTypes": ["violations"]}).response["violations"]
    return [f"{one['id']}: {node['html'][:160]}" for one in found for node in one["nodes"]]


def fits(tab) -> bool:
    """Return whether nothing is wider than the screen."""
    return tab.page.evaluate("document.documentElement.scrollWidth <= innerWidth")


CUT = """() => { const cut = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (walk.nextNode()) {
        const node = walk.currentNode, within = node.parentElement;
        if (!within.getClientRects().length || within.closest('script, style, svg, select, datalist, textarea, pre, .digest')) continue;
        for (const found of node.data.matchAll(/[\\p{L}\\p{N}]{3,}/gu)) {
            if (found[0].length > 32) continue;         // a digest
            const range = document.createRange();
            range.setStart(node, found.index); range.setEnd(node, found.index + found[0].length);
            if (new Set([...range.getClientRects()].filter(box => box.width).map(box => Math.round(box.top))).size > 1) cut.push(`${found[0]} in ${node.data.trim().slice(0, 60)}`);
        }
    } return cut }"""


def cut_words(page) -> list[str]:
    """Return the words of a browser's page that begin on one line and end on another."""
    return page.evaluate(CUT)


def plainly(html: str) -> str:
    """Return HTML without what only says where a line may begin, as a person reads and a search finds it."""
    return re.sub(r'<wbr>|<span class="whole">([^<]*)</span>', r"\1", unescape(html))
