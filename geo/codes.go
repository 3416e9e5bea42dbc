package geo

// The closed list of note codes.
const (
	// Reading a file.
	NoteByteMark      Code = "byte-order-mark-removed"
	NoteRecoded       Code = "text-recoded"
	NoteOldCRSMember  Code = "old-crs-member-read"
	NoteFeatureLeft   Code = "feature-left-out"
	NoteHeightMissing Code = "height-missing"
	NoteTextNumber    Code = "number-was-text"
	NoteForeignShape  Code = "foreign-geometry-read"
	NoteGeometryLeft  Code = "geometry-left-out"
	NoteExtraNumber   Code = "extra-number-dropped"
	NoteCompanion     Code = "companion-file-missing"
	NoteMemberLeft    Code = "archive-member-left-out"
	NoteTextGuessed   Code = "text-encoding-guessed"
	NoteMeasureLeft   Code = "measure-dropped"
	NoteRingRole      Code = "ring-inside-taken-as-hole"
	NotePointsJoined  Code = "points-joined-in-order"
	NoteColumns       Code = "columns-recognised"
	NoteNameCase      Code = "file-name-case"
	NoteColumnLeft    Code = "table-column-left-out"
	NoteMainFile      Code = "main-file-beside-read"
	NoteHeightDatum   Code = "heights-above-another-surface"
	NoteNoFix         Code = "positions-without-fix-dropped"
	NoteTimeOrder     Code = "times-not-in-order"

	// Finding where on the earth.
	NoteSystem        Code = "coordinates-transformed"
	NoteSystemAssumed Code = "system-taken-as-wgs84"
	NoteSystemForced  Code = "system-given-by-user"
	NoteOutsideArea   Code = "outside-area-of-system"
	NoteDatumShift    Code = "datum-shifted"
	NoteDatumNull     Code = "datum-taken-as-wgs84"
	NoteDatumLost     Code = "datum-shift-unknown"
	NoteWebMercator   Code = "web-mercator"
	NoteWithdrawn     Code = "system-withdrawn"

	// Reading terrain.
	NoteTerrain       Code = "terrain-read"
	NoteTerrainPoints Code = "survey-points-dropped"
	NoteLongEdges     Code = "long-triangles-left-out"
	NoteBreakLine     Code = "break-line-mended"
	NoteHeightUnit    Code = "height-unit-assumed"
	NoteHeightScaled  Code = "heights-scaled-by-file"
	NoteMaskLeft      Code = "raster-mask-not-read"
	NoteTerrainPart   Code = "terrain-covers-part"
	NoteOffTerrain    Code = "rows-leave-terrain"
	NoteSideSlope     Code = "side-slope"
	NoteRowGrade      Code = "row-grade-beyond-practice"

	// Repairing an outline.
	NoteRingClosed     Code = "ring-closed"
	NoteRingSnapped    Code = "ring-end-snapped"
	NoteRingTurned     Code = "ring-direction-turned"
	NoteDuplicate      Code = "duplicate-vertex-dropped"
	NoteSpike          Code = "spike-dropped"
	NoteCrossingMended Code = "self-crossing-mended"
	NoteSplit          Code = "crossing-outline-split"
	NoteTouchSplit     Code = "ring-touching-itself-split"
	NoteHolesJoined    Code = "overlapping-holes-joined"
	NoteIsland         Code = "island-in-hole-made-block"
	NoteThinned        Code = "vertices-thinned"
	NoteAntimeridian   Code = "antimeridian-unwrapped"
	NoteAxesSwapped    Code = "axes-swapped-on-request"
	NoteLineClosed     Code = "line-closed-on-request"
	NoteHoleClipped    Code = "hole-cut-from-outline"
	NoteHoleDropped    Code = "hole-without-area-dropped"
	NotePartDropped    Code = "sliver-part-dropped"
	NoteNeedle         Code = "needle-kept"
	NoteStandstill     Code = "standstill-made-one-vertex"
	NoteRunOn          Code = "end-past-start-trimmed"

	// Building a field.
	NoteBlocks        Code = "several-blocks"
	NoteSmallPart     Code = "small-part"
	NoteSmallHole     Code = "small-hole-kept-as-obstacle"
	NoteTwin          Code = "same-outline-twice"
	NoteNear          Code = "narrow-gap-between-blocks"
	NoteOverlapCut    Code = "block-overlap-cut"
	NoteRounded       Code = "positions-rounded-in-file"
	NoteUnusualSize   Code = "unusual-size"
	NoteWideField     Code = "wide-field"
	NoteAreaDiffers   Code = "stated-area-differs"
	NotePlantedOver   Code = "feature-planted-over"
	NoteMarkUnused    Code = "obstacle-mark-unused"
	NoteObstacleAway  Code = "obstacle-outside-field"
	NoteGroundFactor  Code = "ground-height-factor"
	NoteNoHeight      Code = "height-unknown"
	NoteHeightDropped Code = "outline-heights-not-terrain"

	// Laying rows.
	NoteShortLeft      Code = "short-rows-left-out"
	NoteRunDivided     Code = "rows-divided-by-cross-alley"
	NoteGapOutside     Code = "gaps-outside-the-outline"
	NoteHeadlandTight  Code = "headland-too-shallow-to-turn"
	NoteAreaNotDrawn   Code = "working-area-not-drawn"
	NoteEmptyBlock     Code = "block-without-rows"
	NoteSpacingWide    Code = "spacing-near-block-width"
	NoteRowsBent       Code = "rows-follow-the-land"
	NoteStraightKept   Code = "rows-stay-straight"
	NoteRestart        Code = "rows-begin-anew"
	NoteTerrainMissing Code = "grade-unknown-in-part"
	NoteBentWorse      Code = "worse-than-straight-rows"
	NoteRowsBroken     Code = "rows-broken-at-tight-places"
	NoteRowsClose      Code = "rows-nearer-than-the-window"
	NoteRowsWide       Code = "rows-wider-than-the-window"
	NoteFilmStrain     Code = "film-edge-strain"
	NoteOneCurve       Code = "one-curve-repeated"
	NoteGradeLimit     Code = "grade-limit-exceeded"
	NoteEndBlocked     Code = "row-ends-without-room"

	// Counting material.
	NoteFilmNarrow    Code = "cover-narrow"
	NoteThinFilm      Code = "thin-film"
	NoteHeavyRoll     Code = "heavy-roll"
	NoteSplices       Code = "rows-longer-than-a-roll"
	NoteBuriedService Code = "buried-services"
	NoteBurning       Code = "film-disposal"
	NoteLifting       Code = "lifting"
	NoteWater         Code = "water-connection"
	NoteEstimate      Code = "estimate"
	NotePlain         Code = "plan-only-lengths"
	NoteTuckShort     Code = "tuck-shorter-than-trench"
	NoteStonesSmall   Code = "stones-too-small"
	NoteHotFilm       Code = "hot-film"
	NoteRunoff        Code = "film-sheds-rain"
	NoteGirdling      Code = "openings-to-enlarge"
)

// Codes is the closed list, in the order above.
func Codes() []Code {
	return []Code{
		NoteByteMark, NoteRecoded, NoteOldCRSMember, NoteFeatureLeft, NoteHeightMissing,
		NoteTextNumber, NoteForeignShape, NoteGeometryLeft, NoteExtraNumber,
		NoteCompanion, NoteMemberLeft, NoteTextGuessed, NoteMeasureLeft, NoteRingRole,
		NotePointsJoined, NoteColumns, NoteNameCase, NoteColumnLeft, NoteMainFile, NoteHeightDatum, NoteNoFix, NoteTimeOrder,
		NoteSystem, NoteSystemAssumed, NoteSystemForced, NoteOutsideArea, NoteDatumShift, NoteDatumNull,
		NoteDatumLost, NoteWebMercator, NoteWithdrawn,
		NoteTerrain, NoteTerrainPart, NoteTerrainPoints, NoteLongEdges, NoteBreakLine, NoteHeightUnit,
		NoteHeightScaled, NoteMaskLeft,
		NoteOffTerrain, NoteSideSlope, NoteRowGrade,
		NoteRingClosed, NoteRingSnapped, NoteRingTurned, NoteDuplicate, NoteSpike,
		NoteCrossingMended, NoteSplit, NoteTouchSplit, NoteHolesJoined, NoteIsland,
		NoteThinned, NoteAntimeridian, NoteAxesSwapped, NoteLineClosed,
		NoteHoleClipped, NoteHoleDropped, NotePartDropped, NoteNeedle, NoteStandstill, NoteRunOn,
		NoteBlocks, NoteSmallPart, NoteSmallHole, NoteTwin, NoteNear, NoteOverlapCut, NoteRounded,
		NoteUnusualSize, NoteWideField, NoteAreaDiffers, NotePlantedOver, NoteMarkUnused, NoteObstacleAway,
		NoteGroundFactor, NoteNoHeight, NoteHeightDropped,
		NoteShortLeft, NoteRunDivided, NoteGapOutside, NoteHeadlandTight,
		NoteAreaNotDrawn, NoteEmptyBlock, NoteSpacingWide,
		NoteRowsBent, NoteStraightKept, NoteRestart, NoteTerrainMissing, NoteBentWorse,
		NoteRowsBroken, NoteRowsClose, NoteRowsWide, NoteFilmStrain, NoteOneCurve, NoteGradeLimit, NoteEndBlocked,
		NoteFilmNarrow, NoteThinFilm, NoteHeavyRoll, NoteSplices, NoteBuriedService,
		NoteBurning, NoteLifting, NoteWater, NoteEstimate, NotePlain,
		NoteTuckShort, NoteStonesSmall, NoteHotFilm, NoteRunoff, NoteGirdling,
	}
}
