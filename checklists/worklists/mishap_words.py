"""What follows from a reason, in words: shortly on its row, in sentences before it is pressed."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from checklists.method.mishaps import Consequence

SHORTLY = {
    Consequence.REPLACE_SYRINGE: _("Draw again"),
    Consequence.REPLACE_CONTAINER: _("Take another"),
    Consequence.NEW_GLOVES: _("New gloves"),
    Consequence.CLEAN: _("Clean up"),
    Consequence.RESTART: _("Start the hood anew"),
    Consequence.REPRINT: _("Print again"),
    Consequence.PAUSE: _("Pause"),
    Consequence.HOLD: _("Stop; a pharmacist decides"),
    Consequence.ABANDON: _("Give it up"),
}

FOLLOWS = {
    Consequence.REPLACE_SYRINGE: (
        _("The syringe and what is in it are waste; it is accounted for."),
        _("A new syringe is fetched, and it is drawn and read anew."),
    ),
    Consequence.REPLACE_CONTAINER: (
        _("It is put aside for the final check, and accounted for."),
        _("Another of the same kind is gathered, scanned and made ready in its place."),
    ),
    Consequence.NEW_GLOVES: (
        _("Hands come out: wash them, put on new gloves, disinfect them."),
        _("Then the work goes on where it is."),
    ),
    Consequence.CLEAN: (
        _("Take it up, disinfect the surface and your gloves, swab every site anew."),
        _("Then the work goes on where it is."),
    ),
    Consequence.RESTART: (
        _("Nothing goes on while the air stands still."),
        _("When the hood runs again it warms up in full; surface, gloves and sites are done anew."),
    ),
    Consequence.REPRINT: (
        _("A new label is printed and counted; the old one is void."),
        _("Destroy the old one at once."),
    ),
    Consequence.PAUSE: (
        _("The place is kept, and anybody may take it up. In the hood it keeps the hood."),
        _("How long it lies is counted; what is opened grows older meanwhile."),
    ),
    Consequence.HOLD: (
        _("The work stops. Leave everything as it lies, so that it can be seen."),
        _("A pharmacist decides how it goes on, because:"),
    ),
    Consequence.ABANDON: (
        _("It cannot become right again. It ends here, for good, and the order goes back to the list."),
        _("Containers, volumes and labels used are listed; destroy the labels with it."),
    ),
}
