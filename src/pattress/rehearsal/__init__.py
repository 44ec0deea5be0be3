"""The control program in simulated time, against people, bouncing contacts, radio loss and power cuts."""

from pattress.rehearsal.day import Day, Facts, Names, Outcome, Problem
from pattress.rehearsal.differential import Difference
from pattress.rehearsal.rehearse import Rehearsal, rehearse
from pattress.rehearsal.timeline import timeline

__all__ = ["Day", "Difference", "Facts", "Names", "Outcome", "Problem", "Rehearsal", "rehearse", "timeline"]
