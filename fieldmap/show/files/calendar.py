"""The list by week as a calendar file (`dates.ics`), one entry a week."""

import hashlib
from collections.abc import Mapping
from datetime import UTC, datetime, time, timedelta

import icalendar

from fieldmap.decide.weekly_jobs import Schedule
from fieldmap.show.text.decide import weekly_jobs
from fieldmap.show.text.quantities import Units

MAKER = "-//fieldmap//dates//EN"


def ics(
    schedule: Schedule, site_name: str, plots: Mapping[str, str], units: Units
) -> bytes:
    """A calendar of all-day entries from Monday to Sunday that leave the days free.

    Parameters
    ----------
    schedule
        Jobs of the season by week.
    site_name
        Name of the calendar and place of each entry; entries are known again by it.
    plots
        The plot of each bed by its name, for the titles.
    units
        "metric" or "us", for the lengths and temperatures in the jobs.

    Returns
    -------
    bytes
        RFC 5545, UTF-8. Entries are stamped with the first day of the list, so that the
        same schedule and name give the same bytes. An entry keeps its identity over
        plans of the same site, so that a new plan replaces the entries of the last.
    """
    calendar = icalendar.Calendar()
    calendar.add("prodid", MAKER)
    calendar.add("version", "2.0")
    calendar.add("x-wr-calname", icalendar.vText(site_name), encode=False)
    place = hashlib.sha256(site_name.encode()).hexdigest()[:16]
    stamped = datetime.combine(schedule.starts, time(), UTC)
    groups = weekly_jobs.groups(schedule)
    weeks = weekly_jobs.weeks(schedule, units)
    titles = weekly_jobs.titles(schedule, plots)
    for week, title in zip(weeks, titles, strict=True):
        event = icalendar.Event()
        event.add("uid", f"{week.start:%Y%m%d}-{place}@fieldmap")
        event.add("dtstamp", stamped)
        event.add("dtstart", week.start)
        event.add("dtend", week.start + timedelta(days=7))
        event.add("summary", title)
        event.add("location", site_name)
        which = ("", *groups) if groups else ()
        event.add("description", "\n".join([*week.jobs, *which]))
        event.add("transp", "TRANSPARENT")
        calendar.add_component(event)
    return bytes(calendar.to_ical())
