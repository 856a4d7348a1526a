"""Index of the models of this app: Django looks here. Nothing else."""

from workshop.calendar.models import Closure
from workshop.house.models import Shop
from workshop.mail.models import Mail
from workshop.people.models import Leave, Person, Skill
from workshop.places.models import Place

__all__ = ["Closure", "Leave", "Mail", "Person", "Place", "Shop", "Skill"]
