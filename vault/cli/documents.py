"""What each command prints with `--json`: one document, or one of several.

For those who read the answers, and for the tests: no command needs this.
"""

from __future__ import annotations

from vault.cli.vault_documents import CreatedDocument, ReindexedDocument
from vault.jobs.accounts.documents import (
    AccountDocument,
    AccountRemovedDocument,
    AccountsDocument,
    AccountsLogDocument,
    PasswordSetDocument,
    TokenDocument,
)
from vault.jobs.alerts.documents import (
    AlertsDocument,
    ChannelConfirmedDocument,
    ChannelTestDocument,
    SentDocument,
)
from vault.jobs.audit.documents import AuditDocument, FaultLogDocument
from vault.jobs.backup.documents import BackupDocument, RecoveredDocument
from vault.jobs.baseline.documents import (
    DriftDocument,
    GoldenDocument,
    WaivedDocument,
    WithdrawnDocument,
)
from vault.jobs.baseline.many_documents import ManyApprovedDocument, ManyWaivedDocument
from vault.jobs.baseline.waiver_documents import EndingWaiversDocument
from vault.jobs.demo.documents import DemoDocument
from vault.jobs.drafting.documents import DescribedDocument, DraftDocument
from vault.jobs.families.documents import (
    LearningDocument,
    RolesConfirmedDocument,
    RolesDocument,
    TriedDocument,
)
from vault.jobs.faults.documents import FaultsAddedDocument, SiteFaultsDocument
from vault.jobs.inspect.documents import FindDocument, ParameterSetDocument, SpreadDocument
from vault.jobs.inspect.history_documents import ParameterHistoryDocument
from vault.jobs.inspect.margin_documents import (
    MarginHistoryDocument,
    MarginsDocument,
    MarginSpreadDocument,
)
from vault.jobs.intake.documents import IngestDocument, IngestTreeDocument
from vault.jobs.logbook.documents import HistoryDocument
from vault.jobs.manual.documents import ManualDocument
from vault.jobs.records.documents import (
    AxesDocument,
    AxisAddedDocument,
    AxisDocument,
    AxisTemplateDocument,
    DictionaryDocument,
    FamiliesDocument,
    FamilyAddedDocument,
    NoteAddedDocument,
    NotesDocument,
    RecordAddedDocument,
    SiteDocument,
)
from vault.jobs.records.machine_documents import (
    MachineAddedDocument,
    MachineDocument,
    MachinesDocument,
    RenamedDocument,
    RetiredDocument,
)
from vault.jobs.restore.documents import (
    OpenPlansDocument,
    RestoreCheckDocument,
    SignedOffDocument,
)
from vault.jobs.restore.plan_documents import PlanDocument
from vault.jobs.state.check_documents import CheckDocument
from vault.jobs.state.compare_machines_documents import MachineComparisonDocument
from vault.jobs.state.documents import ComparisonDocument
from vault.jobs.sync.documents import (
    GivenDocument,
    LookedDocument,
    SyncEventsDocument,
    TakenDocument,
)
from vault.jobs.tables.documents import TableDocument
from vault.jobs.trials.documents import TrialDocument, TrialsDocument, TrialTemplateDocument
from vault.jobs.verify.documents import VerificationDocument
from vault.jobs.watch.documents import DroppedDocument

DOCUMENTS: dict[str, object] = {
    "create": CreatedDocument,
    "demo": DemoDocument,
    "family add": FamilyAddedDocument,
    "family list": FamiliesDocument,
    "family show": DictionaryDocument,
    "family draft": DraftDocument,
    "family describe": DescribedDocument,
    "family confirm": RolesConfirmedDocument,
    "family learn": LearningDocument,
    "family roles": RolesDocument,
    "family try": TriedDocument,
    "site set": RecordAddedDocument,
    "site signers": RecordAddedDocument,
    "site show": SiteDocument,
    "axis set": AxisAddedDocument,
    "axis template": AxisTemplateDocument,
    "axis show": AxisDocument,
    "axis list": AxesDocument,
    "axis rename": RenamedDocument,
    "axis retire": RetiredDocument,
    "machine set": MachineAddedDocument,
    "machine show": MachineDocument,
    "machine list": MachinesDocument,
    "machine rename": RenamedDocument,
    "machine retire": RetiredDocument,
    "ingest": IngestDocument,
    "ingest-tree": IngestTreeDocument,
    "watch": DroppedDocument,
    "show": ParameterSetDocument,
    "history": HistoryDocument | ParameterHistoryDocument,
    "compare": ComparisonDocument | MachineComparisonDocument,
    "margins": MarginsDocument | MarginHistoryDocument,
    "spread": SpreadDocument | MarginSpreadDocument,
    "find": FindDocument,
    "check": CheckDocument,
    "restore plan": PlanDocument,
    "restore check": RestoreCheckDocument,
    "restore sign-off": SignedOffDocument,
    "golden approve": GoldenDocument | ManyApprovedDocument,
    "restore list": OpenPlansDocument,
    "golden show": GoldenDocument,
    "golden waive": WaivedDocument | ManyWaivedDocument,
    "golden withdraw": WithdrawnDocument,
    "golden waivers": EndingWaiversDocument,
    "drift": DriftDocument,
    "fault add": FaultsAddedDocument,
    "fault import": FaultsAddedDocument,
    "fault list": FaultLogDocument | SiteFaultsDocument,
    "note add": NoteAddedDocument,
    "note list": NotesDocument,
    "trial template": TrialTemplateDocument,
    "trial add": TrialDocument,
    "trial list": TrialsDocument,
    "trial show": TrialDocument,
    "audit": AuditDocument,
    "alerts list": AlertsDocument,
    "alerts confirm": ChannelConfirmedDocument,
    "alerts send": SentDocument,
    "alerts test": ChannelTestDocument,
    "sync look": LookedDocument,
    "sync take": TakenDocument,
    "sync give": GivenDocument,
    "sync list": SyncEventsDocument,
    "table": TableDocument,
    "backup": BackupDocument,
    "recover": RecoveredDocument,
    "user add": AccountDocument,
    "user list": AccountsDocument,
    "user log": AccountsLogDocument,
    "user password": PasswordSetDocument,
    "user token": TokenDocument,
    "user remove": AccountRemovedDocument,
    "manual": ManualDocument,
    "verify": VerificationDocument,
    "reindex": ReindexedDocument,
}
"""Types of the answers by command; where a command fails, it prints an `ErrorDocument`."""
