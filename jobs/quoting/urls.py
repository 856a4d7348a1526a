"""Addresses: quotes and their scopes."""

from django.urls import URLPattern, path

from jobs.quoting.views import dates, quotes, scopes

urlpatterns: list[URLPattern] = [
    path("quotes/", quotes.quote_list, name="quote-list"),
    path("instruments/<int:number>/quote/new/", quotes.new, name="quote-new"),
    path("quotes/<int:number>/", quotes.show, name="quote-show"),
    path("quotes/<int:number>/change/", quotes.change, name="quote-change"),
    path("quotes/<int:number>/work-out/", quotes.work_out, name="quote-work-out"),
    path("quotes/<int:number>/send/", quotes.send, name="quote-send"),
    path("quotes/<int:number>/copy/", quotes.copy, name="quote-copy"),
    path("quotes/<int:number>/answer/", quotes.answer, name="quote-answer"),
    path("quotes/<int:number>/quote.pdf", quotes.pdf, name="quote-pdf"),
    path("quotes/<int:number>/dates/", dates.dates, name="quote-dates"),
    path("quotes/<int:number>/scopes/add/", scopes.add, name="scope-add"),
    path("scopes/<int:pk>/", scopes.change, name="scope-change"),
    path("scopes/<int:pk>/remove/", scopes.remove, name="scope-remove"),
    path("scopes/<int:pk>/amounts/add/", scopes.charge_add, name="charge-add"),
    path("talks/<int:pk>/settle/", quotes.talked, name="quote-talked"),
    path("amounts/<int:pk>/", scopes.charge_change, name="charge-change"),
    path("amounts/<int:pk>/drop/", scopes.charge_drop, name="charge-drop"),
]
