"""The ways from a job to its other screens: material, hours, money, history, plan, change, hand-over."""

from __future__ import annotations

from tracker.book.views import CheckView
from tracker.screens.frame import Framed


class JobDoors(Framed[None]):
    """A screen of the job ``code`` that others open from; ``phase_key`` is the phase it shows."""

    def __init__(self, code: str) -> None:
        super().__init__()
        self.code = code
        self.phase_key = ""

    @property
    def check(self) -> CheckView | None:
        """The check under the cursor."""
        raise NotImplementedError

    def go_to(self, phase_key: str, check_key: str = "") -> None:
        """Show a phase, the cursor on one of its checks."""
        raise NotImplementedError

    def action_buy(self) -> None:
        """Go to what is left to buy for the job."""
        from tracker.screens.buy import BuyScreen

        self.desk.push_screen(BuyScreen(self.code))

    def action_history(self) -> None:
        """Go to every entry of the job."""
        from tracker.screens.history import HistoryScreen

        self.desk.push_screen(HistoryScreen(self.code))

    def action_change(self) -> None:
        """Change the job by a change order."""
        from tracker.screens.changing import open_change

        open_change(self, self.code)

    def action_lots(self) -> None:
        """Go to the material."""
        from tracker.screens.lots import LotsScreen

        self.desk.push_screen(LotsScreen(self.code))

    def action_hours(self) -> None:
        """Go to the hours, for the phase that is shown."""
        from tracker.screens.hours import HoursScreen

        self.desk.push_screen(HoursScreen(self.code, self.phase_key))

    def action_money(self) -> None:
        """Go to the money."""
        from tracker.screens.money import MoneyScreen

        self.desk.push_screen(MoneyScreen(self.code))

    def action_hand_over(self) -> None:
        """Go to the hand-over, and on from there to what is open."""
        from tracker.screens.handover import HandoverScreen

        self.desk.push_screen(HandoverScreen(self.code), lambda aim: self.go_to(aim, aim) if aim else None)

    def action_plan(self) -> None:
        """Go to the plan, at the platform of the check under the cursor."""
        from tracker.screens.plan import PlanScreen

        check = self.check
        platform, failed = (check.platform, check.key) if check else ("", "")
        self.desk.push_screen(PlanScreen(self.code, platform, failed))
