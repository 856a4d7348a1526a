"""All rooms but one, so that pages can be drawn without the steps behind them."""

from django.urls import path

from workshop.web.context import ROOMS

MISSING = "norms-list"
urlpatterns = [
    path(f"{room.url_name}/", lambda request: None, name=room.url_name) for room in ROOMS if room.url_name != MISSING
]
