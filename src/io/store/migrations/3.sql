-- An alert is raised once and sent on each channel. "repeat" counts how often an alert that nobody
-- acknowledged was put forward again; "told" is since when it is to be sent.
ALTER TABLE alert ADD COLUMN repeat INTEGER NOT NULL DEFAULT 0;

-- The newest repetition of an alert on a channel: claimed before it is sent, so that two processes do not
-- both send it. A claim without "sent" ends after a while.
CREATE TABLE delivery (
    alert INTEGER NOT NULL REFERENCES alert (id),
    channel TEXT NOT NULL,
    repeat INTEGER NOT NULL,
    claimed INTEGER NOT NULL,
    sent INTEGER,
    PRIMARY KEY (alert, channel)
) STRICT, WITHOUT ROWID;

-- Alerts of older versions count as sent everywhere.
INSERT INTO delivery (alert, channel, repeat, claimed, sent)
SELECT id, channel, 0, told, told
FROM alert
CROSS JOIN (
    SELECT 'desktop' AS channel
    UNION ALL SELECT 'command'
    UNION ALL SELECT 'screen'
    UNION ALL SELECT 'terminal'
    UNION ALL SELECT 'output'
);
