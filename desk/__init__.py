"""What awaits me, the auditor's pages, the signed record."""
