"""Addresses: assessments, readings, findings, photographs."""

from django.urls import URLPattern, path

from jobs.assessment import range_views
from jobs.assessment.views import assessments, columns, entry, findings, photographs

urlpatterns: list[URLPattern] = [
    path("instruments/<int:number>/assess/", assessments.start, name="assessment-start"),
    path("assessments/<int:pk>/", assessments.show, name="assessment-show"),
    path("assessments/<int:pk>/finish/", assessments.finish, name="assessment-finish"),
    path("assessments/<int:pk>/reopen/", assessments.reopen, name="assessment-reopen"),
    path("assessments/<int:pk>/remark/", assessments.remark_add, name="remark-add"),
    path("assessments/<int:pk>/paper.pdf", assessments.paper, name="assessment-pdf"),
    path("assessments/<int:pk>/readings.csv", columns.export, name="assessment-csv"),
    path("assessments/<int:pk>/import/", columns.take_in, name="assessment-import"),
    path("assessments/<int:pk>/enter/<slug:code>/", entry.enter, name="assessment-enter"),
    path("assessments/<int:pk>/enter/<slug:code>/table/", columns.table, name="assessment-table"),
    path("assessments/<int:pk>/findings/add/", findings.add, name="finding-add"),
    path("readings/<int:pk>/take-back/", entry.take_back, name="reading-take-back"),
    path("findings/<int:pk>/keep/", findings.keep, name="finding-keep"),
    path("findings/<int:pk>/strike/", findings.strike, name="finding-strike"),
    path("findings/<int:pk>/change/", findings.change, name="finding-change"),
    path("instruments/<int:number>/photographs/", photographs.add, name="photograph-add"),
    path("norms/ranges/", range_views.range_list, name="ranges-list"),
    path("norms/ranges/<int:pk>/", range_views.change, name="range-change"),
    path("photographs/<int:pk>/", photographs.show, name="photograph-show"),
]
