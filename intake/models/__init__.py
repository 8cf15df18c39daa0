"""What the studio knows about a rider before the slot."""

from intake.models.bikes import Bike
from intake.models.clients import Client
from intake.models.decisions import FindingDecision, RedFlagNote
from intake.models.editions import CatalogueEdition, CatalogueVersion, EditionState
from intake.models.experience import (
    FaultExperience,
    ForecastOutcome,
    LearningWeights,
    MonthlyLoss,
    SessionLesson,
)
from intake.models.links import RiderLink
from intake.models.mail import MailAttachment, OutgoingMail
from intake.models.photos import Photo
from intake.models.previsit import CheckAnswer, Discomfort, PreVisitCheck, TriageSummary
from intake.models.reminders import Reminder
from intake.models.repairs import RepairReport
from intake.models.requests import ComplaintOutcome, QuestionRequest
from intake.models.snapshots import SnapshotMoment, TriageSnapshot
from intake.models.workshops import JobAnswer, JobLine, JobLink, JobLinkRequest, JobSheet, Workshop

__all__ = [
    "Bike",
    "CatalogueEdition",
    "CatalogueVersion",
    "CheckAnswer",
    "Client",
    "ComplaintOutcome",
    "Discomfort",
    "EditionState",
    "FaultExperience",
    "FindingDecision",
    "ForecastOutcome",
    "JobAnswer",
    "JobLine",
    "JobLink",
    "JobLinkRequest",
    "JobSheet",
    "LearningWeights",
    "MailAttachment",
    "MonthlyLoss",
    "OutgoingMail",
    "Photo",
    "PreVisitCheck",
    "QuestionRequest",
    "RedFlagNote",
    "Reminder",
    "RepairReport",
    "RiderLink",
    "SessionLesson",
    "SnapshotMoment",
    "TriageSnapshot",
    "TriageSummary",
    "Workshop",
]
