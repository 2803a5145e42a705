"""HOW, WHO and WHEN: the procedure, the people, the checks, the gate and the record."""
