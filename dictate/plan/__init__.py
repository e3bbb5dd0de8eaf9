"""A tasting's plan from its wine list: order, sessions, glasses, alcohol poured. Pure."""

from dictate.plan.day import Plan, Poured, Wishes, make_plan
from dictate.plan.kinds import PlanTable, plan_table
from dictate.plan.order import Placed, in_order
from dictate.plan.text import as_list, plan_lines, planned_wines

__all__ = [
    "Placed",
    "Plan",
    "PlanTable",
    "Poured",
    "Wishes",
    "as_list",
    "in_order",
    "make_plan",
    "plan_lines",
    "plan_table",
    "planned_wines",
]
