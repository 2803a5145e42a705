"""What the formulary refuses, each with its own sentence.

Refusal
├── a code of ours: NotACode, CodeMistyped, DoneCardScanned
├── a scan: NothingScanned, NotAProductScan, ProductNumberOnly, IncompleteScan, ScanUnreadable,
│   SeparatorLost, GtinMistyped, ExpiryUnreadable, OtherCodeWanted
├── a photograph: NotAPicture, NoCodeInPicture, SeveralCodesInPicture
├── a product: WrongProduct, WrongStrength, LookAlike, EquivalentProduct
├── a lot: UnknownLot, LotRecalled, LotQuarantined, ExpiryDiffers, LotExpired
├── stock: UnknownProduct, LotHereAlready, LotStateStands, NothingInFile, FileTooLong
├── an order: OrderRefused, OrderClosed, NotEquivalent
├── a worksheet: NothingInStock
├── a formulation: ApprovedByItsAuthor, ApprovedAlready
└── the tables: PolicyRefused, TablesNotEmpty, FileRefused
"""

from __future__ import annotations

from collections.abc import Mapping

from compounding.reckoning.refusals import Refusal


class NotACode(Refusal):
    """A text has not the form of a code of ours."""

    wording = (
        "“{scanned}” is not one of our codes: a letter and eight letters or digits, like R 4K7Q 2M9D. "
        "Scan it again, or type what stands under the square."
    )


class CodeMistyped(Refusal):
    """The check character of a code of ours does not fit."""

    wording = "“{scanned}” has a wrong character in it. Scan it again, or compare it letter by letter."


class DoneCardScanned(Refusal):
    """The “done” card came where something else is to be scanned."""

    wording = "This is the “done” card; it finishes no step that asks for a scan. Scan {wanted}."


class NothingScanned(Refusal):
    """An empty text came where a scan was wanted."""

    wording = "Nothing was scanned. Hold the code before the scanner, or type what stands beneath it."


class NotAProductScan(Refusal):
    """A text is neither a product's GS1 code nor a code of ours."""

    wording = "“{scanned}” is not a code this place knows. Scan the square code on the container itself."


class ProductNumberOnly(Refusal):
    """A barcode holds a product number and nothing about its lot."""

    wording = (
        "The barcode {scanned} holds the product number only. Scan the square code, which also holds "
        "lot and expiry, or type it as (01)…(17)…(10)…"
    )


class IncompleteScan(Refusal):
    """A GS1 code lacks the product number, the expiry or the lot."""

    wording = "“{scanned}” holds no {missing}. Scan the code with product, expiry and lot, or type them."


class ScanUnreadable(Refusal):
    """A GS1 code breaks off, says two things at once, or holds what no such code holds."""

    wording = "“{scanned}” cannot be read as a product's code. Scan it again, or type it as (01)…(17)…(10)…"


class SeparatorLost(Refusal):
    """The scanner left out the separator after a lot or serial number, so that it ran on."""

    wording = (
        "The scanner ran “{run_on}” together: the separator after the lot or serial number is missing. "
        "Type it as (01)…(17)…(10)…, and have this scanner set to send the separator."
    )


class GtinMistyped(Refusal):
    """A product number's check digit does not fit."""

    wording = "The product number {gtin} has a wrong digit in it. Scan it again, or compare the 14 digits."


class ExpiryUnreadable(Refusal):
    """An expiry is no date."""

    wording = "The expiry “{expiry}” is not a date. It is written year, month, day with two digits each."


class OtherCodeWanted(Refusal):
    """A code of another kind than the one wanted."""

    wording = "This is {scanned}. Scan {wanted} instead."


class NotAPicture(Refusal):
    """What was sent as a photograph is none that can be looked at."""

    wording = "This is no photograph that can be looked at. Take a new one with the camera, as JPEG or PNG."


class NoCodeInPicture(Refusal):
    """No code was found in a photograph."""

    wording = (
        "No code was found in the photograph. Go nearer, hold still, let it fill half the view; or type it."
    )


class SeveralCodesInPicture(Refusal):
    """A photograph shows more than one code."""

    wording = "There are {count} codes in the photograph. Take one in which only the wanted code is seen."


class WrongProduct(Refusal):
    """Another product was scanned than the one wanted."""

    wording = "This is {scanned}. Wanted is {wanted}. Put this one back and scan the right one."


class WrongStrength(WrongProduct):
    """The right drug was scanned in another strength or size."""

    wording = (
        "This is {scanned}: the right drug, in the wrong strength or size. Wanted is {wanted}. "
        "Put this one back and scan the right one."
    )


class LookAlike(WrongProduct):
    """A drug was scanned that is known to be taken for the wanted one."""

    wording = (
        "This is {scanned}, a look-alike. Wanted is {wanted}. Put this one back where it belongs, read the "
        "name on the next one aloud, and scan it."
    )


class EquivalentProduct(WrongProduct):
    """The same drug in the same strength was scanned, of another maker or package."""

    wording = (
        "This is {scanned}, equal in strength to {wanted}. Only a pharmacist has it taken instead, on the "
        "order’s page. Ask one, or scan what is wanted."
    )


class UnknownLot(Refusal):
    """A lot was never received here."""

    wording = "Lot {lot} of {product} is not in stock here. Take another, or have this one received first."


class LotRecalled(Refusal):
    """A lot was recalled by its maker."""

    wording = "Lot {lot} of {product} is recalled. Do not use it: set it apart and tell the pharmacist."


class LotQuarantined(Refusal):
    """A lot is held back."""

    wording = "Lot {lot} of {product} is in quarantine. Take another lot until a pharmacist releases it."


class ExpiryDiffers(Refusal):
    """The expiry on the container is not the one on file for the lot."""

    wording = (
        "The container says lot {lot} of {product} expires {scanned}; on file it expires {on_file}. "
        "Set it apart and tell the pharmacist."
    )


class LotExpired(Refusal):
    """A lot is past its expiry."""

    wording = "Lot {lot} of {product} expired on {expired}. Set it apart and take a lot that is in date."


class UnknownProduct(Refusal):
    """A product that is not in the formulary came in."""

    wording = "Product number {gtin} is not in the formulary. Have it entered there first, then receive it."


class LotHereAlready(Refusal):
    """A lot that was received before."""

    wording = "Lot {lot} of {product} was received already; it is {state}. Nothing was changed."


class LotStateStands(Refusal):
    """A change that a lot in this state does not take."""

    wording = (
        "Lot {lot} of {product} is {state}; that cannot be done with it. Choose what is offered on its page."
    )


class NothingInFile(Refusal):
    """A file of received lots without a line."""

    wording = (
        "The file holds no line. Write one container a line: what its code says, or product number, lot "
        "and expiry, such as 02000000000013,BN5011,2027-05-31."
    )


class FileTooLong(Refusal):
    """A file of received lots that is no such list."""

    wording = "This is no list of received lots. Choose a text file of at most {most} lines."


class OrderRefused(Refusal):
    """An order cannot be taken as typed; `by_field` has a sentence for each field."""

    wording = "The order was not taken. {sentences}"

    def __init__(self, by_field: Mapping[str, str]) -> None:
        super().__init__(sentences=" ".join(by_field.values()))
        self.by_field = dict(by_field)


class NotEquivalent(Refusal):
    """A product was chosen that does not serve the order, or is not in stock."""

    wording = "This product cannot serve the order now. Choose one of those offered."


class OrderClosed(Refusal):
    """An order that was cancelled or superseded is to be changed or made."""

    wording = "Order {number} is {state} ({reason}). It can no longer be changed, cancelled or made."


class NothingInStock(Refusal):
    """No product that may be used is on the shelf and in date."""

    wording = "There is no {what} in stock that is in date and free to use. Receive a lot first."


class PolicyRefused(Refusal):
    """A site limit lies outside what the program allows, or has no reason."""

    wording = "The limits were not changed. {why}"


class TablesNotEmpty(Refusal):
    """A formulary is to be loaded over an existing one."""

    wording = "The formulary already holds {count} products. Loading is for empty tables only."


class FileRefused(Refusal):
    """A formulary file has a row that cannot be taken."""

    wording = "{row} in the file cannot be taken. {why}"


class NoReasonGiven(Refusal):
    """A change of the formulary without its reason."""

    wording = "Write why beside the action: it is kept with the change, with your name and the time."


class ApprovedByItsAuthor(Refusal):
    """A formulation, `title`, that whoever wrote or changed it wants to approve."""

    wording = "{title} was written or changed by you. Somebody else approves it."


class ApprovedAlready(Refusal):
    """A formulation, `title`, that is no draft any more."""

    wording = "{title} is no draft. A change of it is a new version."
