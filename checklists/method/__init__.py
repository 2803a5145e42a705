"""PURE: how the work is done, apart from any framework. The map:

`step_kinds`   the table of kinds: stage, who acts, what finishing takes
`procedure`    worksheet -> the ordered steps of the work
`agreement`    required, drawn, seen -> agree or differ, by how much
`pictures`     a step's own numbers -> the geometry of its drawing
`chain`        an entry's canonical text and digest, for the record and its audit alike

Stages, in the order of the work: reckon, gather, check, stage, enter, ready, draw, show, add, label,
dispose, hand-over, release. Draw, show and add repeat for every measured transfer.
"""
