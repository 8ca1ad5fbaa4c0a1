"""The sentences of the planner that pages show, each by its form: braces stand for what is filled in.

The planner is pure and speaks English, and much of what it says is stored. Pages in another language know a sentence
again by its form. What a brace holds is told by how it is called: `at` an instant, `long` a length of time, `usd`
dollars, `number` a number, `date` a day, `more` what a choice would cost, `limit` what shuts a field, `hindering`,
`missing` and `hours` lists of things that have forms of their own, `when` the days of something supposed; anything
else is a name or a list of names.
"""

from django.utils.translation import gettext_noop

SENTENCES = (
    # why a task stands when it does
    gettext_noop("It is under way."),
    gettext_noop("It is fixed to this outfit and hour."),
    gettext_noop("The sent plan has it so."),
    gettext_noop("Starting it {at} would save {usd}, and the change costs {change_usd}."),
    gettext_noop("Starting it {at} would save nothing, and the change costs {change_usd}."),
    gettext_noop("Starting it {at} would else {more}."),
    gettext_noop("Its outfit could start it sooner, {at}, and that would {more}."),
    gettext_noop("It starts with the first minute that is planned."),
    gettext_noop("No start before would leave it time to be done."),
    gettext_noop("It was sent so for the day on which this plan was made, and that stays while it can."),
    gettext_noop("No other outfit could start it sooner."),
    gettext_noop("Sooner with another outfit:"),
    gettext_noop("Before that:"),
    gettext_noop("It is shut until {at}."),
    gettext_noop("It may not start before {at}."),
    gettext_noop("It waits for {task}, which ends {at}."),
    gettext_noop("It waits for {task}, which ends {at}, and for {long} after that."),
    gettext_noop("Begun sooner, it would not be done within the {long} it may take."),
    gettext_noop("Started sooner, it would not be over in time in {hours}."),
    gettext_noop("{who} is taken by {task} until {at}."),
    gettext_noop("{who} are taken by {task} until {at}."),
    gettext_noop("{who} is taken by {task} until {at}, and then needs {long} to get ready here."),
    gettext_noop("{who} are taken by {task} until {at}, and then need {long} to get ready here."),
    gettext_noop(
        "{who} is taken by {task} until {at}, and then needs {long} to get ready here, which is not before {at_there}."
    ),
    gettext_noop(
        "{who} are taken by {task} until {at}, and then need {long} to get ready here, which is not before {at_there}."
    ),
    gettext_noop("{who} needs {long} to get ready here, and can be there {at} at the soonest."),
    gettext_noop("{who} need {long} to get ready here, and can be there {at} at the soonest."),
    gettext_noop("{who} is not at work before {at}."),
    gettext_noop("{who} are not at work before {at}."),
    gettext_noop("{who} is not at work before {at}, and then needs {long} to get ready here."),
    gettext_noop("{who} are not at work before {at}, and then need {long} to get ready here."),
    gettext_noop("{who} cannot be used before {at}."),
    gettext_noop("{who} cannot be used before {at}, and then needs {long} to get ready here."),
    gettext_noop("{who} cannot be used before {at}, and then need {long} to get ready here."),
    gettext_noop("{task} starts {at}, and no more than {long} may lie between."),
    # the next best choice
    gettext_noop("At the same hour with the same outfit would {more}."),
    gettext_noop("At the same hour with {outfit} would {more}."),
    gettext_noop("{at} with the same outfit would {more}."),
    gettext_noop("{at} with {outfit} would {more}."),
    gettext_noop("Leaving it undone would {more}."),
    gettext_noop("Leaving it undone, and with it the {number} others that wait for it, would {more}."),
    gettext_noop("Leaving it undone, and with it {names}, would {more}."),
    gettext_noop("{at} with {outfit} it would {more} than leaving it."),
    gettext_noop("{at} with {outfit} it would {more} as leaving it."),
    gettext_noop("{at} with {outfit} it would {more} against leaving it."),
    # why a task is left
    gettext_noop("Doing it costs more than leaving it."),
    gettext_noop("Doing it would cost {usd} more than leaving it."),
    gettext_noop("Room for it was not found in the time given."),
    gettext_noop("There is no outfit for it."),
    gettext_noop("No outfit could do it, even if nothing else were to be done."),
    gettext_noop("What it waits for ends too late to do it after that in these days."),
    gettext_noop(
        "All outfits that could do it are taken by other work, or on the road, in the hours it is open."
    ),
    gettext_noop("It waits for {task}, which is left."),
    gettext_noop("Were it done, {task}, which waits for it and is fixed, would have to be done too."),
    gettext_noop(
        "No outfit is free for it in its open hours: {outfit} could start it {at}, but {hindering}."
    ),
    gettext_noop(
        "It could not be done even if other work gave way: {outfit} could start it {at}, but {hindering}."
    ),
    gettext_noop("It comes after {task}, which ends {at}: too late to do it in these days."),
    gettext_noop(
        "It comes after {task}, which ends {at}, and {long} must lie between: too late to do it in these days."
    ),
    gettext_noop("It is fixed to {at}, before the first minute it may start."),
    gettext_noop("It is fixed to {at}, after the last minute it may start."),
    gettext_noop("It is fixed to {at}, when the work is shut or one of {outfit} is off."),
    gettext_noop("It is fixed to {at}, and could not end in the days that are planned."),
    gettext_noop("It is fixed to {at}, and would not be done within the {long} it may take once begun."),
    gettext_noop(
        "It is fixed to {at}, and its outfit cannot be there by then, from where it stands or from the other work that "
        "is fixed or under way."
    ),
    gettext_noop("It is fixed to {outfit}, which is no longer among its modes."),
    gettext_noop("It is shut all through these days."),
    gettext_noop("It is never open while all of an outfit are at work."),
    gettext_noop("It is shut at every time it may start."),
    gettext_noop("Once begun it must be done within {long}, and its open hours are too few for that."),
    gettext_noop(
        "It needs {long}, and no more than {long_open} of these days are open with its outfit at work."
    ),
    gettext_noop("Shut for longest: {limit}."),
    gettext_noop("The field is shut in all these days: {limit}"),
    gettext_noop("{number} of {number_all} parts left."),
    # what could not be offered to the planner
    gettext_noop("All {number} acres are reported: say that it is finished, or correct a record."),
    gettext_noop("It may not start before {date}."),
    gettext_noop("It is fixed to start on {date}, after this plan."),
    gettext_noop("It may not start before {date}, after what it waits for."),
    gettext_noop("It waits for {task}, which is not in this plan."),
    gettext_noop("It waits for {task} and at least {number} days after it, which is not within this plan."),
    gettext_noop("Its fixed outfit {outfit} cannot {work} in these days."),
    gettext_noop("Its fixed outfit {outfit} cannot {work} in these days: {missing}."),
    gettext_noop("No hand here can {work} in these days."),
    gettext_noop("No hand here can {work} in these days: {missing}."),
    gettext_noop("No pivot here, with a hand where it needs one, can do this ({work}) in these days."),
    gettext_noop(
        "No pivot here, with a hand where it needs one, can do this ({work}) in these days: {missing}."
    ),
    gettext_noop("No tractor, implement and hand here can {work} in these days."),
    gettext_noop("No tractor, implement and hand here can {work} in these days: {missing}."),
    gettext_noop("{thing} does no field work in these days."),
    gettext_noop("Nobody here can do this in these days: {service}."),
    # why there is no new plan
    gettext_noop("{farm} has no pass that is still to be done."),
    gettext_noop("No pass of {farm} can be planned in these days."),
    gettext_noop("No pass of {farm} can be planned in these days: the first may start on {day}."),
    gettext_noop("{day} is over; a plan starts on {earliest} at the earliest."),
    gettext_noop("The plan that was made does not hold, so nothing was stored: {told}."),
    # what a plan changes
    gettext_noop("It had to:"),
    gettext_noop("It moves from {at} to {at_now}."),
    gettext_noop("It goes from {outfit} to {outfit_now}, at the same hour."),
    gettext_noop("It goes from {outfit} to {outfit_now}, and from {at} to {at_now}."),
    gettext_noop("It was left, and is now planned for {at} with {outfit}."),
    gettext_noop("It was planned for {at} with {outfit}, and is now left."),
    gettext_noop("With it back as the old plan had it, this plan would {more}."),
    gettext_noop("With {names} back as the old plan had them, this plan would {more}."),
    gettext_noop("It makes room for {task}, and that in the end for {task_last}, which had to change."),
    gettext_noop("It makes room for {task}, and that in the end for {task_last}, which stands there now."),
    gettext_noop("It makes room for {task}, which had to change."),
    gettext_noop("It makes room for {task}, which changes with others."),
    gettext_noop("It makes room for {task}, which stands there now."),
    gettext_noop("There it would now last until {at}, too long beside {task}."),
    gettext_noop("It could not stay beside {task}, which now lasts until {at}."),
    gettext_noop("It could not stay beside {task}."),
    gettext_noop("It is under way in {outfit}."),
    gettext_noop("It is now fixed to {outfit}."),
    gettext_noop("{outfit} is no longer among its outfits."),
    gettext_noop("Its hour, {at}, has passed, and it is not done."),
    gettext_noop("{at} is past the days that are planned now."),
    gettext_noop("{at} is between the steps of the new plan."),
    gettext_noop("It is shut {at}."),
    gettext_noop("It may start no later than {at}."),
    gettext_noop("Started {at}, it would not be over within its {long}, or in time."),
    gettext_noop("Started {at}, it would not be over in the days that are planned."),
    gettext_noop("It waits for {task}, which can no longer be done."),
    gettext_noop("It waits for {task}, which cannot end before {at}."),
    gettext_noop("It waits for {task}, which cannot end before {at}, and {long} must pass."),
    gettext_noop("It must start within {long} of the end of {task}, {at}."),
    gettext_noop("{task} waits for it, and is fixed to {at}."),
    gettext_noop("{task} must start within {long} of its end, and cannot before {at}."),
    gettext_noop("{who} is held by {task}, which is fixed or under way."),
    gettext_noop("{who} cannot be there by {at}."),
    gettext_noop("{who} is not at work {at}."),
    # what is supposed and cannot be
    gettext_noop("{text}: nobody and nothing of {who} is at work on {date}, so there are no hours to go by."),
    gettext_noop(
        "{text}: nobody and nothing of {who} is at work on any of the days, so there are no hours to go by."
    ),
    # rules that clash
    gettext_noop("It must be done in these days, but:"),
    gettext_noop("Without it a plan is there: {usd}, {number} left."),
    gettext_noop("Even without it there is no plan, for other rules."),
    gettext_noop("Without it a plan may be there; none was found in the time given."),
    gettext_noop("The roads take as long as the table says."),
    gettext_noop("{task} must be done."),
    gettext_noop("{task} goes on only while it is open."),
    gettext_noop("{task} is held for at most {number} minutes."),
    gettext_noop("{task} starts {at} at the soonest."),
    gettext_noop("{task} starts {at} at the latest."),
    gettext_noop("{task} starts at most {number} minutes after {task_before} ends."),
    gettext_noop("{task} starts after {task_before} ends, by at least {number} minutes."),
    gettext_noop("{task} starts after {task_before} ends."),
    gettext_noop("{task} is fixed to {outfit} from {at}."),
    gettext_noop("{task} is under way in {outfit}."),
    gettext_noop("{who} needs {number} minutes to change its setup."),
    gettext_noop("{who} may be on the road only in its road calendar."),
    gettext_noop("{who} does one task at a time."),
    gettext_noop("{who} works only in its calendar."),
)
"""Whole sentences, and what stands before one with a colon; the more special before what would hold it too."""

HINDERING = (
    gettext_noop("it is not open for long enough then"),
    gettext_noop("it would not be done as soon after its beginning as it must"),
    gettext_noop("it may start no later than {at}"),
    gettext_noop("it may not start before {at}"),
    gettext_noop("{task}, which it waits for, ends {at}"),
    gettext_noop("{who} is not at work for long enough"),
    gettext_noop("{who} cannot get there in time"),
    gettext_noop("{who} is taken by {task}"),
    gettext_noop("{who} are taken by {task}"),
)
MISSING = (
    gettext_noop("{who} is away through {date}"),
    gettext_noop("{who} has no hours in these days"),
    gettext_noop("{who} is down until {date}"),
)
HOURS = (
    gettext_noop("the hours it is open"),
    gettext_noop("the hours of {who}"),
)
MORE = (
    gettext_noop("cost the same"),
    gettext_noop("cost {usd} more"),
    gettext_noop("save {usd}"),
    gettext_noop("cost the same: {parts}"),
    gettext_noop("cost {usd} more: {parts}"),
    gettext_noop("save {usd}: {parts}"),
    gettext_noop("cost {usd} more, all of it {part}"),
    gettext_noop("save {usd}, all of it {part}"),
)
PARTS = (
    gettext_noop("{usd} more {part}"),
    gettext_noop("{usd} less {part}"),
)
PART = (
    gettext_noop("for the work itself"),
    gettext_noop("for being late"),
    gettext_noop("for extra hours"),
    gettext_noop("on the road and for changing setups"),
    gettext_noop("for changing what was sent"),
    gettext_noop("for work left"),
    gettext_noop("for the risk of weather"),
)
SUPPOSED = (
    gettext_noop("Rain {when}"),
    gettext_noop("One more hour of overtime {when}"),
    gettext_noop("One more hour of overtime for {who} {when}"),
    gettext_noop("{number} more hours of overtime {when}"),
    gettext_noop("{number} more hours of overtime for {who} {when}"),
    gettext_noop("A hired {outfit} with its {kinds} to {work} {when}"),
    gettext_noop("A hired {outfit} to {work} {when}"),
    gettext_noop("One more hand {when}"),
    gettext_noop("{number} more hands {when}"),
    gettext_noop("One hand fewer {when}"),
    gettext_noop("One more implement to {work} {when}"),
    gettext_noop("{number} more implements to {work} {when}"),
    gettext_noop("One implement to {work} fewer {when}"),
    gettext_noop("{number} implements to {work} fewer {when}"),
    gettext_noop("One more like {who} {when}"),
    gettext_noop("{number} more like {who} {when}"),
    gettext_noop("{who} missing {when}"),
    gettext_noop("One hand fewer {when}, least missed: {names}"),
    gettext_noop("One implement to {work} fewer {when}, least missed: {names}"),
    gettext_noop("{number} implements to {work} fewer {when}, least missed: {names}"),
)
KINDS = (
    gettext_noop("tractor"),
    gettext_noop("driver"),
    gettext_noop("sprayer"),
    gettext_noop("picker"),
    gettext_noop("combine"),
    gettext_noop("truck"),
)
WHEN = (
    gettext_noop("on all days"),
    gettext_noop("on {date}"),
    gettext_noop("on all days at {usd} an hour on top"),
    gettext_noop("on {date} at {usd} an hour on top"),
)
