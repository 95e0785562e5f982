"""What is worth saying about a take: see ``findings.findings``; in numbers: ``findings.summary``."""
