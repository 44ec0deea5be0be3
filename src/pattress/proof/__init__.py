"""Can any order of events break the control program? `prove(table)` explores them all.

What is covered, how a job is split and what is left out stands at the top of `proof.py`; what
the owner's own wishes mean, in `pattress.job.wish`.
"""

from .proof import Proof, prove
from .properties import CLAIMS, Claim, Kind
from .retrial import retry
from .story import Standing, Step, Story, standings, story_of
from .tally import PartCount, Property

__all__ = ["CLAIMS", "Claim", "Kind", "PartCount", "Proof", "Property", "Standing", "Step", "Story", "prove", "retry",
           "standings", "story_of"]
