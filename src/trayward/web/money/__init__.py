"""The pages of money: what a week and a month earned, what if, invoices."""
