"""Every reading, by subject. Importing this package fills the registry."""

from intake.trade.readings import body as body
from intake.trade.readings import clearance as clearance
from intake.trade.readings import counted as counted
from intake.trade.readings import frets as frets
from intake.trade.readings import neck as neck
from intake.trade.readings import places as places
from intake.trade.readings import reach as reach
from intake.trade.readings import strings as strings
from intake.trade.readings import targets as targets
