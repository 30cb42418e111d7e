"""The sheet: what a board shows, printed true to scale as topographic maps are.

`ground_of` and `plan_pages` choose ground, scale and pages; `build_sheet` writes the PDF. The PDF
library is loaded when a sheet is built, not before.
"""

from plotter.sheet.build import Sheet, build_sheet
from plotter.sheet.frame import PAPERS
from plotter.sheet.plan import USUAL_SCALES, SheetPlan, ground_of, plan_pages

__all__ = [
    "PAPERS",
    "USUAL_SCALES",
    "Sheet",
    "SheetPlan",
    "build_sheet",
    "ground_of",
    "plan_pages",
]
