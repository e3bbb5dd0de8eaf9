"""Pictures of comparisons, as SVG and PNG. EDGE: matplotlib, imported late, for it takes its time."""

from dictate.pictures.draw import ENDINGS, PictureError, draw_sheet

__all__ = ["ENDINGS", "PictureError", "draw_sheet"]
