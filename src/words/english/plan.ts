/** What a job may do on this bench, and what is wrong with a procedure. */
export const PLAN = {
  // what ends an over-voltage
  'trip.begun-with': 'the job was begun with: {was} Now: {is}',
  'trip.cannot-begin': 'the external crowbar trips at {at}, and the normal voltage is {normal}: {cure}',
  'trip.crowbar': 'Over-voltage: the supply has no trip of its own; external crowbar at {at}, tried on {day}.',
  'trip.crowbar-does-not-serve':
    'The external crowbar trips at {at}, wanted {wanted}: the supply is not taken above {normal}, and steps above that are left out. To raise it, {cure}.',
  'trip.crowbar-not-above': 'external crowbar trips at {at}, wanted {wanted}: supply not above {normal}',
  'trip.crowbar-serves':
    'The supply has no over-voltage trip of its own: the external crowbar trips at {at} and was tried on {day}. Look that it is connected.',
  'trip.crowbar-set-anew': 'set the crowbar {wanted}, try it and write that in the bench file, or use another supply',
  'trip.crowbar-tried-long-ago':
    'The external crowbar was tried on {day}, more than 12 months ago: try it again before the job.',
  'trip.crowbar-unfit-for-sheet':
    '{at} does not serve {sheet}: it must trip {wanted} ("never above" and "trip" of the sheet); set it so, try it and write both here, or leave the steps above normal out',
  'trip.crowbar-wanted': 'above {above} and at most {most}',
  'trip.none': 'Over-voltage: the supply has no trip of its own, and no crowbar was named.',
  'trip.none-caution':
    'The supply has no over-voltage trip: it is not taken above {normal}, and steps above that are left out. Name an external crowbar in the bench file, or use another supply.',
  'trip.none-not-above': 'supply without an over-voltage trip, no crowbar in the bench file: not above {normal}',
  'trip.own': 'Over-voltage: the trip of the supply itself.',

  'check.note': 'note: {what}',

  // what was found before the radio was switched on
  'intake.chassis-joined-though-floating':
    'The sheet says that the chassis floats, and it was found joined to supply minus: find out why. Until then it is treated as floating.',
  'intake.chassis-found-floating':
    'The chassis was found floating: no common on the case, and nothing of it to mains earth.',
  'intake.chassis-not-measured':
    'Nobody has measured whether the chassis floats: it is treated as floating. Not to earth.',
  'intake.speaker-bridged': 'Speaker bridged: neither of its leads to earth or to a grounded instrument.',
  'intake.speaker-not-measured':
    'Speaker not measured, so treated as bridged: neither of its leads to earth or to a grounded instrument.',
  'intake.tampered':
    'Somebody was at this set before: what the sheet says of it may not hold. Compare before you turn.',

  // what is wrong with a procedure, or with a step on this bench
  'plan.aim-outside': 'lies outside the target "{target}"; the whole aim window must lie inside it',
  'plan.channel-missing': 'channel {channel} is in none of the bands in use; there are {runs}',
  'plan.channel-reserved':
    'channel {channel} is reserved in {band} and is never keyed; choose another, for example {other}',
  'plan.its-aim': 'its aim {what}',
  'plan.no-channel-plan':
    'there is no channel plan "{plan}"; the plans are {plans} (one whose file is wrong is left out: check it)',
  'plan.no-middle': 'the bands in use have no channel that may be keyed',
  'plan.none': 'none',
  'plan.not-allowed-here': 'not allowed here',
  'plan.run': '{from} to {to} ({band})',
} as const
