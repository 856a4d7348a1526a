"""The plan as it is drawn and listed: bars, waits, arrivals and promises of some weeks."""

from jobs.scheduling.timelines.blocks import Block, JobRow
from jobs.scheduling.timelines.page import WEEKS, PlanPage, blocks_between, plan_blocks, plan_page

__all__ = ["WEEKS", "Block", "JobRow", "PlanPage", "blocks_between", "plan_blocks", "plan_page"]
