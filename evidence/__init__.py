"""Files and confirmed mappings, packed sets, booth sittings. Knows no lot."""
