"""The only writer: one function an act, keyword-only, one durable transaction, done once for its key.

`bench`     the transaction, the lock, the key, and what an act works with
`guards`    what every act asks first
`opening`   open, pause, take up, give up        `steps`     finish a technician's step
`checks`    first check, reading blind, inspection   `holds`     raise and resolve
`counted`   one unit of a counted step           `batches`    units rejected, reconciliation
`labels`    printing                             `changes`   orders cancelled or changed
`ending`    release                              `hoods`     switched on and off
`stock`     lots received, held back, recalled
`gathered`  one container before the scanner     `opened`    from first puncture to the waste
`sharing`   a vial dissolved for another preparation
`pins`      tried, counted, shut, changed        `identities` first supervisor, unlocking, signing out
`events`    what is kept for whoever watches     `closing`    a link of the site's chain
`amending`  set right by a new entry
`leaving`   hands out of the hood                `lapsed`    what must be mended before a step
`mishaps`   what went wrong, and what follows     `photographs` draws shown by photograph
`plans`     run plans put up and let go
`daybook`   what past days came to               `fitness`   results of people, duties done
`devices`   which device has a step open
`kept`      done without network, sent later
`garbing`   garb that stands for a session       `returning` what is done again on taking up
`clockwork` leaps of the clock, kept and said
`from_paper` work done on paper, entered afterwards by two people
`waste`     a controlled medicine destroyed before a witness
"""

from checklists.run.amending import amend
from checklists.run.batches import reject_inspected, reject_unit
from checklists.run.changes import cancel_order, change_order, choose_product, enter_order
from checklists.run.checks import cannot_read, inspect, recalculate, refuse_check, sight_draw, take_check
from checklists.run.daybook import keep_days
from checklists.run.devices import open_on
from checklists.run.ending import release
from checklists.run.fitness import do_duty, qualify
from checklists.run.from_paper import enter_from_paper
from checklists.run.garbing import sign_out
from checklists.run.holds import raise_hold, resolve, see_compared, see_hold
from checklists.run.hoods import switch_hood
from checklists.run.identities import end_sessions, is_set_up, make_first_code, set_up, unlock
from checklists.run.kept import kept
from checklists.run.labels import print_labels
from checklists.run.leaving import leave_hood
from checklists.run.mishaps import report_mishap
from checklists.run.opened import discard_container
from checklists.run.opening import abandon, clear_hood, open_preparation, pause, resume
from checklists.run.photographs import ask_anew, photograph
from checklists.run.pins import change_pin, identify, is_due, open_lock
from checklists.run.plans import let_plan_go, put_plan_up
from checklists.run.steps import finish_step
from checklists.run.stock import change_lot, receive_lot, receive_lots
from checklists.run.waste import account_for_waste

__all__ = [
    "abandon",
    "account_for_waste",
    "amend",
    "ask_anew",
    "cancel_order",
    "cannot_read",
    "change_lot",
    "change_order",
    "change_pin",
    "choose_product",
    "clear_hood",
    "discard_container",
    "do_duty",
    "end_sessions",
    "enter_from_paper",
    "enter_order",
    "finish_step",
    "identify",
    "inspect",
    "is_due",
    "is_set_up",
    "keep_days",
    "kept",
    "leave_hood",
    "let_plan_go",
    "make_first_code",
    "open_lock",
    "open_on",
    "open_preparation",
    "pause",
    "photograph",
    "print_labels",
    "put_plan_up",
    "qualify",
    "raise_hold",
    "recalculate",
    "receive_lot",
    "receive_lots",
    "refuse_check",
    "reject_inspected",
    "reject_unit",
    "release",
    "report_mishap",
    "resolve",
    "resume",
    "see_compared",
    "see_hold",
    "set_up",
    "sight_draw",
    "sign_out",
    "switch_hood",
    "take_check",
    "unlock",
]
