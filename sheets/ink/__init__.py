"""What is on paper, before any file exists: records, marks, labels, paper sizes."""
