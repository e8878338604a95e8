"""The job file: one job as a TOML text a person can write, read with every fault named by line."""

from tracker.trade.jobfile.house import parse_rules_bytes
from tracker.trade.jobfile.model import Doing, JobFile, LogEntry, LotEntry
from tracker.trade.jobfile.parse import parse_job_bytes, parse_job_file, parse_job_table
from tracker.trade.jobfile.table import Fault, JobFaults
from tracker.trade.jobfile.write import write_job

__all__ = [
    "Doing",
    "Fault",
    "JobFaults",
    "JobFile",
    "LogEntry",
    "LotEntry",
    "parse_job_bytes",
    "parse_job_file",
    "parse_job_table",
    "parse_rules_bytes",
    "write_job",
]
