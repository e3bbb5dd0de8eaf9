"""The bench view: what a taster sees at one glance while `dictate listen` runs.

`board.py` is pure and says what is to be seen; `terminal.py` and `web.py` show it.
"""

from dictate.board.board import Board, Clock, Mode, as_json, board_of

__all__ = ["Board", "Clock", "Mode", "as_json", "board_of"]
