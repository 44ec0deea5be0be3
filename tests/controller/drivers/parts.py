"""The board's parts as the workbench finds them."""

from pattress.controller import core
from pattress.controller.inputs import InputNews
from pattress.controller.request_queue import RequestQueue
from pattress.controller.drivers.pins import Inputs, Outputs
from pattress.controller.drivers.store import Store
from pattress.controller.loop import Loop
