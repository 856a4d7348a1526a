"""The list scheduler compiled by numba: many schedules a second for the search.

``tables`` turns a problem into arrays (``Shop``) and makes room for a schedule (``State``); ``decode`` builds one.
Everything here runs compiled and touches arrays only. ``list_schedule`` is the same in plain Python: slow, readable,
and what the tests hold this against.
"""
