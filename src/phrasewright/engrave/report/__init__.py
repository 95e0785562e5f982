"""The report on a take: values, a page of its own, one printed sheet."""
