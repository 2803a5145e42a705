"""PURE arithmetic of the trade: no framework, no clock, no float. This is the map.

Amounts are `Decimal` with a unit and a kind; each result carries its working. From the top floor down:

    the worksheet  reckon           an order or a batch becomes its worksheet, proved
                   proof            the second arithmetic, from the draws up, in fractions; it borrows nothing
                                    (proof_order, proof_marks, plain_amounts)
    the bench      layout           volumes become transfers, in the order of the work
                   transfers        containers and draws, numbered
                   supplies         syringes, needles, wipes
                   working_lines    what the bench writes down
    the mixture    limits           what a formulation allows: what stops, what needs a reason
                                    (usual, peripheral)
                   mixture          one unit's ingredients, checked
                   admixing         what ends up in the container
                   reconstitution   powder to solution
                   dilution         C₁V₁ = C₂V₂, alligation, the ladder
    the measure    drawing          volume to syringes and marks
                   portions         which container gives how much
                   syringes         sizes, tolerance, error budget
    the order      request          all that is asked
                   dosing, body     order and patient to content; weight, surface, clearance
                   policy           the limits of a site
    the science    strengths        mg/mL, percent, ratio
                   substances       molar mass, charge, particles
                   infusion, osmolarity, isotonicity, nutrition
                   dating           beyond-use date and the limit that binds (use_limits)
                   labelling        label lines; linting reads any text (error_prone, tall_man)
                   incompatibility  what must not meet
                   provisioning     which vials to open (vial_stock, vial_plans, vial_scale)
                   airflow          where things stand in first air
    the ground     worksheet        the frozen result, to plain data and back
                   working          how a line of working is written
                   quantities       amounts of a kind: of, read, write, store
                   reading, units   the strict grammar; the allow list of units
                   refusals         what is refused, in the user's words

What it refuses: text that is not plainly an amount (reading); one kind of amount for another – mEq for mmol,
units for mg, mg/kg without a weight (quantities, strengths); doses outside limits (dosing); what no syringe
draws within policy (drawing); what does not fit or is too concentrated (admixing), runs too fast, or meets a
diluent or a drug that it must not (limits); and any worksheet that the second arithmetic does not confirm
(proof).
"""
