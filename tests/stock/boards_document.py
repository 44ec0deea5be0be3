"""The page of the boards, made from their files.

Write it anew with ``python -m tests.stock.boards_document > docs/boards.md``.
"""

from pattress.stock.boards import load_boards
from pattress.stock.listing import document

if __name__ == "__main__":
    print(document(load_boards()), end="")
