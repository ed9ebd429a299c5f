"""What people say and measure, as values, and what any hypothesis would show of it.

In come typed words (`words/`) and the circuit; out go `evidence.Symptom`, `evidence.Test`, `evidence.Reading`, and by
`forward_model.Predictor` what would be seen or read. Nothing here weighs anything.
"""
