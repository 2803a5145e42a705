"""The words of stages and kinds of waiting, to be translated where they are shown."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from checklists.method.second_reading import is_second
from checklists.method.step_kinds import OfAKind, Stage, Takes

STAGES = {
    Stage.RECKON: _("Reckon"),
    Stage.GATHER: _("Gather"),
    Stage.CHECK: _("First check"),
    Stage.STAGE: _("Stage"),
    Stage.ENTER: _("Enter"),
    Stage.READY: _("Make ready"),
    Stage.DRAW: _("Draw"),
    Stage.SHOW: _("Show"),
    Stage.ADD: _("Add"),
    Stage.LABEL: _("Label"),
    Stage.DISPOSE: _("Dispose"),
    Stage.HAND_OVER: _("Hand over"),
    Stage.RELEASE: _("Release"),
}

WAITS = {
    Takes.RECALCULATION: _("the first check"),
    Takes.SIGHTING: _("a checker to read"),
    Takes.INSPECTION: _("the final check"),
    Takes.SIGNATURE: _("the release"),
}

WAITS_FOR_SECOND = _("a second pharmacist to read")

STEP_NAMES = {
    "read_worksheet": _("Read the worksheet"),
    "gather_container": _("Gather a container"),
    "gather_each": _("Gather containers alike"),
    "gather_supplies": _("Gather supplies"),
    "print_label": _("Print the label"),
    "first_check": _("First check"),
    "wipe_items": _("Wipe the items"),
    "put_on_covers": _("Cover hair, face and shoes"),
    "wash_hands": _("Wash hands"),
    "rub_hands": _("Rub hands with alcohol"),
    "put_on_gloves": _("Put on sterile gloves"),
    "identify_hood": _("Identify the hood"),
    "wipe_surface": _("Wipe down the surface"),
    "lay_mat": _("Lay the mat"),
    "arrange": _("Introduce and arrange"),
    "peel_wraps": _("Peel wraps open"),
    "restart_hood": _("Start the hood again"),
    "clean_spill": _("Clean up a spill"),
    "disinfect_gloves": _("Disinfect gloves"),
    "swab_sites": _("Swab critical sites"),
    "change_gloves": _("Change gloves"),
    "attach_devices": _("Attach closed devices"),
    "open_ampoule": _("Open an ampoule"),
    "join_prefilled": _("Join a prefilled syringe"),
    "draw": _("Draw"),
    "draw_units": _("Draw and cap each syringe"),
    "show": _("Draw shown"),
    "add_diluent_to_vial": _("Add diluent to a vial"),
    "dissolve": _("Dissolve"),
    "discard_diluent": _("Discard withdrawn diluent"),
    "change_needle": _("Change the needle"),
    "swab_port": _("Swab the port"),
    "add": _("Add"),
    "add_units": _("Add to each bag"),
    "push_over": _("Push into the final syringe"),
    "push_units": _("Push into each final syringe"),
    "cap_final": _("Cap the final syringe"),
    "cap_units": _("Cap each final syringe"),
    "cap_syringe": _("Cap a syringe"),
    "mix": _("Mix and look"),
    "look": _("Look at each syringe"),
    "wipe_outside": _("Wipe the outside"),
    "apply_label": _("Put on the label"),
    "label_units": _("Put a label on each unit"),
    "cover_from_light": _("Cover from light"),
    "seal_bag": _("Seal in a transport bag"),
    "dispose": _("Dispose"),
    "account_waste": _("Destroy what is left, before a witness"),
    "reconcile": _("Reconcile the batch"),
    "hand_over": _("Hand over"),
    "deactivate": _("Deactivate"),
    "decontaminate": _("Decontaminate"),
    "clean_surface": _("Clean the surface"),
    "clean_up": _("Clean up"),
    "final_check": _("Final check"),
    "release": _("Release"),
    "site_step": _("Step of this pharmacy"),
}

SECOND_READING = _("Draw shown, second reading")


def step_name(step: OfAKind) -> str:
    """Return what a step is called."""
    return str(SECOND_READING if is_second(step) else STEP_NAMES[step.kind])


WAYS = {
    "draw-again": _("The technician draws to the mark again; a checker reads it anew."),
    "read-again": _("Another pharmacist, who has not seen the amounts, reads the same syringe."),
    "check-again": _("The check is taken again from the start."),
    "carry-on": _("The work goes on where it stopped."),
    "reject": _("Those units are destroyed. The batch goes on without them, and its yield goes down."),
    "discard": _("The preparation ends here and is destroyed; the order goes back to the list."),
}
