"""A notification service that notes what it is asked, and answers as a person would.

    notifications.py NOTES [nobuttons]

Each call is a line of JSON in NOTES. A line on standard input, "seen 3" or "later 3" or "close 3", is what a person
does with popup 3; "seen last" is the newest. By the Desktop Notifications Specification 1.2 of freedesktop.org.
"""

import json
import sys

import dbus
import dbus.mainloop.glib
import dbus.service
from gi.repository import GLib

NAME = "org.freedesktop.Notifications"


class Notifications(dbus.service.Object):
    def __init__(self, bus, notes, buttons):
        super().__init__(bus, "/org/freedesktop/Notifications")
        self.notes, self.buttons, self.last = open(notes, "a"), buttons, 0

    def note(self, **what):
        self.notes.write(json.dumps(what) + "\n")
        self.notes.flush()

    @dbus.service.method(NAME, in_signature="", out_signature="as")
    def GetCapabilities(self):
        return ["body"] + (["actions", "body-markup"] if self.buttons else [])

    @dbus.service.method(NAME, in_signature="", out_signature="ssss")
    def GetServerInformation(self):
        return ("notes", "tests", "1", "1.2")

    @dbus.service.method(NAME, in_signature="susssasa{sv}i", out_signature="u")
    def Notify(self, app, replaces, icon, summary, body, actions, hints, timeout):
        if not replaces:
            self.last += 1
        number = int(replaces) or self.last
        hints = {str(key): str(value) for key, value in hints.items()}
        self.note(
            call="notify", number=number, replaces=int(replaces), app=str(app), icon=str(icon), summary=str(summary),
            body=str(body), actions=[str(action) for action in actions], hints=hints, timeout=int(timeout),
        )
        return dbus.UInt32(number)

    @dbus.service.method(NAME, in_signature="u", out_signature="")
    def CloseNotification(self, number):
        self.note(call="close", number=int(number))
        self.NotificationClosed(number, 3)

    @dbus.service.signal(NAME, signature="us")
    def ActionInvoked(self, number, action):
        pass

    @dbus.service.signal(NAME, signature="uu")
    def NotificationClosed(self, number, reason):
        pass

    def told(self, source, _condition):
        line = source.readline()
        if not line:
            return True
        what, number = line.split()
        number = dbus.UInt32(self.last if number == "last" else int(number))
        if what == "close":
            self.NotificationClosed(number, 2)
        else:
            self.ActionInvoked(number, what)
        return True


dbus.mainloop.glib.DBusGMainLoop(set_as_default=True)
bus = dbus.SessionBus()
name = dbus.service.BusName(NAME, bus, do_not_queue=True)
service = Notifications(bus, sys.argv[1], "nobuttons" not in sys.argv)
GLib.io_add_watch(sys.stdin, GLib.IO_IN, service.told)
GLib.MainLoop().run()
