"""PURE arithmetic of the trade: no framework, no clock, no float. This is the map.

A floor imports only floors below it. Amounts are `Decimal` with a unit and a kind; each result carries its
working.

the worksheet   reckon       an order or batch becomes its worksheet, proved proof        the second
arithmetic, from the draws up, in fractions; borrows nothing (proof_order, proof_marks, plain_amounts) the
bench       layout       volumes become transfers;  transfers: containers and draws, numbered supplies
syringes, needles, wipes;  working_lines: what the bench writes down the mixture     mixture      one unit's
ingredients;    admixing: what ends up in the container reconstitution  powder to solution;     dilution: C₁V₁
= C₂V₂, alligation, the ladder the measure     drawing      volume to syringes and marks;  syringes: sizes,
tolerance, error budget portions     which container gives how much the order       dosing       order and
patient to content;  body: weight, surface, clearance request      all that is asked;             policy: the
limits of a site the science     strengths    mg/mL, %, ratio;   substances: molar mass, charge, particles
infusion, osmolarity, nutrition     rates, mOsmol/L, parenteral nutrition dating (use_limits)
beyond-use date and the limit that binds labelling (linting, error_prone, tall_man)  label lines and their
linter incompatibility, provisioning, airflow      what must not meet, vials to open, first air the ground
worksheet    the frozen result;  working: how a line is written quantities   amounts of a kind: of, read,
write, store;  reading: the strict grammar units        the allow list of units;  refusals: what is refused,
in the user's words

What it refuses: text that is not plainly an amount (reading); one kind of amount for another – mEq for mmol,
units for mg, mg/kg without a weight (quantities, strengths); doses outside limits (dosing); what no syringe
draws within policy (drawing); what does not fit or is too concentrated (admixing); and any worksheet that the
second arithmetic does not confirm (proof).
"""
