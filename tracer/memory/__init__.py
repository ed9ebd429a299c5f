"""What a workshop's own closed jobs say about how often each kind of fault turns up.

In come finds (a kind of fault on a kind of vehicle) and the equipment of the vehicles they were made on; out go
`Rates`: plain numbers with which a job multiplies the shipped base rates. The file that keeps them holds nothing of
customers, plates or prices. Nothing here reads a job file or knows what was observed: `job` brings the finds.
"""
