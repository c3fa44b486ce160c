"""Fitting the plan to what was really made: what to measure, the outline that fits it, and which measurement looks wrong."""

from calc.fitup.faults import FitFault
from calc.fitup.fitting import Angle, AsBuilt, Measured, fit
from calc.fitup.measurements import Wanted, wanted
from calc.fitup.suspect import Suspect, reads_the_same

__all__ = ["Angle", "AsBuilt", "FitFault", "Measured", "Suspect", "Wanted", "fit", "reads_the_same", "wanted"]
