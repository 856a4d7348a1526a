"""A plan replayed in one future with nothing but dates and clock times: slow, and without any code of the engine.

The same rules as the engine states for its replay: pieces in the order in which the plan begins them, each with the
plan's technician at the first moment that everything it needs is free; nothing placed is moved again.
"""

from bisect import bisect_left
from collections import defaultdict
from datetime import datetime, time, timedelta

DAY = timedelta(days=1)


class SlowCalendar:
    """Each technician's working slots as moments, and the days the shop is open, for some years."""

    def __init__(self, problem):
        self.problem = problem
        self.step = timedelta(minutes=problem.slot_minutes)
        self.day_slots = problem.day_minutes // problem.slot_minutes
        days = (problem.start + DAY * number for number in range(900))
        closed = problem.holidays
        self.open_days = [day for day in days if day.weekday() in problem.workdays and day not in closed]
        self.own = {one.id: self.own_slots(one) for one in problem.technicians}
        self.place = {who: {slot: number for number, slot in enumerate(own)} for who, own in self.own.items()}

    @staticmethod
    def on_leave(technician, day):
        return any(first <= day <= last for first, last in technician.leave)

    def own_slots(self, technician):
        found = []
        for day in self.open_days:
            if day.weekday() in technician.workdays and not self.on_leave(technician, day):
                opens = datetime.combine(day, self.problem.opens)
                found += [opens + self.step * number for number in range(self.day_slots)]
        return found

    def days_between(self, planned, start):
        """Working days of the shop from one slot to a later one, as a fraction; endless where there is none."""
        if start is None:
            return 10**6
        opens = datetime.combine(start.date(), self.problem.opens)
        clock = (start - opens) - (planned - datetime.combine(planned.date(), self.problem.opens))
        days = self.open_days.index(start.date()) - self.open_days.index(planned.date())
        return days + clock / (self.step * self.day_slots)

    def shuns_leave(self, technician, start, end, length):
        """Whether work would pause over a leave although it fits into its stretch between two leaves."""
        first = last = self.open_days.index(start.date())
        ends = self.open_days.index(end.date())
        if not any(self.on_leave(technician, day) for day in self.open_days[first:ends]):
            return False
        while first > 0 and not self.on_leave(technician, self.open_days[first - 1]):
            first -= 1
        while not self.on_leave(technician, self.open_days[last]):
            last += 1
        own = sum(day.weekday() in technician.workdays for day in self.open_days[first:last])
        return own * self.day_slots >= length


def slow_replay(calendar, solution, slots, late):
    """The date each job ends on, when operations take so many slots and parts come so many working days late."""
    return _Future(calendar, solution, slots, late).run()


class _Future:
    def __init__(self, calendar, solution, slots, late):
        self.calendar, self.problem, self.solution = calendar, calendar.problem, solution
        self.slots, self.late, self.step = slots, late, calendar.step
        self.busy = defaultdict(set)
        self.held = defaultdict(list)
        self.ends, self.job_ends, self.who = {}, {}, {}
        start = datetime.combine(self.problem.start, time())
        self.floor = {f"place {number}": start for number in range(self.problem.places.floor)}
        self.standing = {}
        for job in self.problem.jobs:
            if job.in_house:
                self.standing[job.id], _ = self.floor.popitem()

    def run(self):
        pieces = []
        for operation in self.problem.operations:
            work = self.solution.operations[operation.id]
            starts = [work.start] if operation.sessions == 1 else [stint.start for stint in work.stints]
            pieces += [(start, operation, number) for number, start in enumerate(starts)]
        rank = {operation.id: n for n, operation in enumerate(self.problem.operations)}
        left = defaultdict(int)
        for _, operation, _ in pieces:
            left[operation.job] += 1
        for start, operation, number in sorted(pieces, key=lambda one: (one[0], rank[one[1].id], one[2])):
            self.place(operation, number, start)
            left[operation.job] -= 1
            if not left[operation.job]:
                self.floor[self.standing[operation.job]] = self.job_ends[operation.job]
        return {job: end.date() for job, end in self.job_ends.items()}

    def place(self, operation, number, planned):
        work = self.solution.operations[operation.id]
        planner = self.problem.technician_by_id[work.technician]
        whole, longer = divmod(self.slots[operation.id], operation.sessions)
        length = whole + (number < longer)
        moment = self.bound(operation, number)
        if operation.job not in self.standing:
            first = min(self.floor, key=lambda name: self.floor[name])
            moment = max(moment, self.floor.pop(first))
            self.standing[operation.job] = first
        planned_end = work.end if operation.sessions == 1 else work.stints[number].end
        planned_length = sum(planned <= slot < planned_end for slot in self.calendar.own[planner.id])
        over = self.calendar.shuns_leave(planner, planned, planned_end, planned_length)
        technician = self.who[operation.id] if number else planner
        start = self.first(operation, technician, moment, length, over)
        if not number and self.calendar.days_between(planned, start) >= 1:
            able = [one for one in self.problem.technicians if operation.skill in one.skills and one is not planner]
            for other in able if operation.fixed is None else ():
                begins = self.first(operation, other, moment, length, over)
                if begins and (
                    not start or self.end_of(other, begins, length) < self.end_of(technician, start, length)
                ):
                    technician, start = other, begins
        self.who[operation.id] = technician
        self.take(operation, number, technician, start, length)

    def first(self, operation, technician, moment, length, over):
        """The first of a technician's slots at which work may begin."""
        own = self.calendar.own[technician.id]
        for slot in own[bisect_left(own, moment) :]:
            if self.may_begin(operation, technician, slot, length, over):
                return slot
        return None

    def end_of(self, technician, start, length):
        return self.mine(technician, start, length)[-1] + self.step

    def bound(self, operation, number):
        """Everything but technician, bench and floor."""
        if number:
            return datetime.combine(self.ends[operation.id, number - 1].date() + DAY, time())
        moments = [datetime.combine(self.problem.start, time())]
        for key in operation.after:
            before = self.problem.operation_by_id[key]
            moments.append(self.ends[key, before.sessions - 1] + timedelta(hours=before.wait_hours))
        if operation.not_before:
            days = self.calendar.open_days
            comes = days[bisect_left(days, operation.not_before) + self.late.get(operation.id, 0)]
            moments.append(datetime.combine(comes, time()))
        return max(moments)

    def mine(self, technician, start, length):
        """So many of a technician's working slots from a start on."""
        first = self.calendar.place[technician.id][start]
        return self.calendar.own[technician.id][first : first + length]

    def may_begin(self, operation, technician, start, length, over):
        if start in self.busy[technician.id]:
            return False
        mine = self.mine(technician, start, length)
        if len(mine) < length or not self.busy[technician.id].isdisjoint(mine):
            return False
        end = mine[-1] + self.step
        if operation.sessions > 1:
            today = sum(slot.date() == start.date() for slot in mine)
            if today < min(length, self.calendar.day_slots):
                return False
        if not over and self.calendar.shuns_leave(technician, start, end, length):
            return False
        if operation.place not in ("bench", "spray"):
            return True
        holds = [hold for hold in self.held[operation.place] if hold[0] < end and hold[1] > start]
        moments = [start, *(hold[0] for hold in holds if hold[0] > start)]
        busiest = max(sum(one[0] <= moment < one[1] for one in holds) for moment in moments)
        return busiest < self.problem.places.of(operation.place)

    def take(self, operation, number, technician, start, length):
        mine = self.mine(technician, start, length)
        end = mine[-1] + self.step
        self.busy[technician.id].update(mine)
        self.held[operation.place].append((start, end))
        self.ends[operation.id, number] = end
        self.job_ends[operation.job] = max(self.job_ends.get(operation.job, end), end)
