"""The board's parts as the workbench finds them."""

from pattress.controller import core
from pattress.controller.desk import Desk
from pattress.controller.drivers.pins import Inputs, Outputs
from pattress.controller.drivers.store import Store
from pattress.controller.loop import Loop
