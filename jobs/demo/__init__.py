"""The demo shop: a small town workshop in the middle of its work, built through the services of each step.

Everything is invented (see ``fixtures/demo/README.md``) and drawn from one fixed seed; only the days follow the
day the demo is built, so that it never grows old. ``build.demo_build`` is the way in.
"""
