"""What this device keeps: answers not sent yet, answers not accepted, and the pages that open without a signal."""
