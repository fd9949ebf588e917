"""What a farm earned: costs of what grew, what it brought, invoices, rows for a bookkeeper. Decimal, and no clock."""
