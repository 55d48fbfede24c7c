"""From one line of free text on a job card or an invoice to what it says was done."""
