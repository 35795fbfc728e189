"""The room that answers: one pure function a question, a typed result each; nothing here prints or writes."""
