"""What the pharmacy knows and holds: substances, products, lots, formulations, and the orders for them.

The map. `models` is the shelf. `intake` is the only way an order comes in: `typed` reads its fields,
`requisition` says whether it may be taken, `orders` lists what is to be made. `worksheets` turns an order
into reckoning's worksheet, `stock` chooses the products for it. `scanning` decides what a scanned text is,
with `gs1` for products and `codes` for our own. `policy` keeps the site's limits with their reasons,
`loading` fills empty tables from files, `refusals` holds the sentences of this floor. Nothing here knows of
steps, people or screens.
"""

PROGRAM_VERSION = "0.1.0"
