"""One job from first reading to final proof.

intake        who asks, about which instrument, with what aim
operations    the catalogue of work, and the closure of a scope under what it implies
assessment    readings -> findings -> operations they point to
estimating    norms -> hours with a range, per task and for a bundle
quoting       one to five scopes side by side; frozen when sent; accepted once
worklist      the accepted scope at work: tasks, stages, variations, job cards
supplies      what the tasks need, from the shelf or on which order, by when
scheduling    who does which task where and when; the promise
hours         time logged, corrected, tasks closed
billing       deposit, stages, balance, payments
verification  the same measures read again: the proof
updates       what the client is told, about something that really happened
portal, desk  the client's pages and our own

Data only moves forward along this list. What happens next is in the package flow: read it first.
"""
